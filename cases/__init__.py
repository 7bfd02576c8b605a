"""Case files: their schema, their units, and the straight pieces of metal they describe."""
