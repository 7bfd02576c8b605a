"""Bodies in the soil as a case file gives them: their blocks, and what cannot be."""
