"""Pictures of a result."""
