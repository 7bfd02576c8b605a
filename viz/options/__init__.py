"""Options side by side, in words, one picture and one table."""
