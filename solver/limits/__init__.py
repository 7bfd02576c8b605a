"""What a person or animal can bear: limit sets, feet, body."""
