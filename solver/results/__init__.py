"""What a run found out: one frozen object, how good it is, variants side by side, storage."""
