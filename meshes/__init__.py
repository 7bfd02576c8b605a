"""From conductors and layers to a tetrahedral mesh of the half-space."""
