"""What each command does, joined from cases, meshes, solver and viz."""
