"""One file a kind of equipment; each kind compiles to parts, probes or circuits and nothing else."""
