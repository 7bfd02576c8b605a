"""What people and animals can bear, and what of a case is held against it."""
