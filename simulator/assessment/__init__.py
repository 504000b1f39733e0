"""JUDGE: what a history means for every hiding place; never runs a solver."""
