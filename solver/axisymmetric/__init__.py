"""Axisymmetric electrodes in layered soil: rod, hemisphere, plate."""
