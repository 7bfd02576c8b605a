"""Predicted earth tests in pictures, words and tables."""
