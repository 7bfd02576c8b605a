"""A sounding in pictures, words and tables."""
