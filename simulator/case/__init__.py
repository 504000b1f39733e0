"""DESCRIBE: the case file, what it may hold, and the parts that furniture and equipment compile to."""
