"""SHOW: result files, pictures and plots, made from a history or a result file alone."""
