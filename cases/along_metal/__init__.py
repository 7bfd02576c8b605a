"""Metal that is not at one potential: its places, leads and joints."""
