"""DESCRIBE: the case file, what it may hold, the parts that furniture and equipment compile to."""
