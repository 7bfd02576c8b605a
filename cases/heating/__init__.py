"""Leads, metal and joints in the heat of a fault: schema and reader of the block."""
