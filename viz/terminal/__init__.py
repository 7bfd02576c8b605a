"""A result in the words of the terminal."""
