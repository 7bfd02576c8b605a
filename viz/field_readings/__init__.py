"""A comparison with field readings in pictures, words and tables."""
