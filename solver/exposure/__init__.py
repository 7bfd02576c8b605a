"""Where people are and what they meet there: maps of the surface, reach, worst places."""
