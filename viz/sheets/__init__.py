"""Field sheets: plans and tables to fill in with a pencil, and templates for what was read."""
