"""Protective devices of a case."""
