"""What is not known of a case: distributions, draws, and what they say of the answers."""
