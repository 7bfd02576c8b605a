"""Drawings (DXF) beside a case: metal and outlines that nobody has to type."""
