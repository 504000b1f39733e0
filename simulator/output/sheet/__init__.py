"""The job sheet: a few printed pages from which a crew can work, made from a result file alone."""
