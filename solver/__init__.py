"""Numbers in, numbers out: the conduction problem and all that is read from its solution."""
