"""Where a case looks for danger, and how finely it is computed."""
