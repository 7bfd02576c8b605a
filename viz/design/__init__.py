"""Designs side by side: words, pictures, tables."""
