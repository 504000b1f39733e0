"""One file a kind of furniture; each kind compiles to parts and nothing else."""
