"""What may be chosen in a case, what has to be reached, and what it costs."""
