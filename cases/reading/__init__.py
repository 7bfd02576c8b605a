"""Reading text: YAML with lines, quantities with units, tables, and what is wrong in them."""
