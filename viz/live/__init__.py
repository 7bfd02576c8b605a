"""The page on which a case is changed while its voltages follow."""
