"""Pictures and report of a run, drawn by two processes: one of them while the other solves."""
