"""Case files that come with the package, each in an invented setting."""
