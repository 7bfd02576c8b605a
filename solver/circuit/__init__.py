"""Fault circuit: how much of the fault current enters the soil."""
