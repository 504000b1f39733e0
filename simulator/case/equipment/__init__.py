"""One file a kind of equipment; each kind compiles to parts or probes and nothing else."""
