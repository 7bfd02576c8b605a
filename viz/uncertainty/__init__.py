"""What is said, drawn and written of a case whose inputs are not known."""
