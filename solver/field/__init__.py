"""Finite elements: the potential of layered soil round thin metal, and its currents."""
