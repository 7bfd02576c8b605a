"""Distances that a case asks for: schema and reader of the block."""
