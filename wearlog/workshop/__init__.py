"""What a person can do or ask: one file per job."""
