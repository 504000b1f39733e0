"""What the shell sees when a command ends; errors that name their own code come beside these."""

FAILURE = 1
COLD_SPOTS_REMAIN = 3
INTERRUPTED = 130
