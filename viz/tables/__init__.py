"""Tables of a result as CSV, and its meshes as VTU."""
