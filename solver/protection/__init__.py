"""Protective devices: whether and when they clear the fault."""
