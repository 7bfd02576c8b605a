"""Soundings: apparent resistivity of layered soil, and layers from readings."""
