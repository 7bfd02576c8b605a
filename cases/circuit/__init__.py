"""The fault circuit of a case, and where the case operates by it."""
