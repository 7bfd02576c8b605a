"""The vertical section through soil and metal."""
