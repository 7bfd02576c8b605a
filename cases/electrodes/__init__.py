"""Electrodes: what the case file writes, built into straight pieces of metal and checked."""
