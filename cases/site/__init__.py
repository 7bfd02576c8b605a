"""Where on the earth a case lies, and outlines from maps of it."""
