"""What `check` predicts of a run beside what the run takes."""
