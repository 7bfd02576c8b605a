"""Second opinion: thin conductors in layered soil by an integral method."""
