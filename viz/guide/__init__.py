"""The guide: chapters and lessons as one page, or in the terminal, from the same texts."""
