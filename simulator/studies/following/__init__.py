"""FOLLOW: a treatment by its sensors; the log is read, the model corrected, the end forecast."""
