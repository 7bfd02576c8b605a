"""What is not known of a case: the uncertainty block."""
