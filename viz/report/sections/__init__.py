"""What a report says, section by section, as plain data."""
