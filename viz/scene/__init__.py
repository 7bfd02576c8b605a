"""The 3-D view with the soil cut away."""
