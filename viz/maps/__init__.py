"""Plan maps of potential, touch, step, and of the margin to what is permissible."""
