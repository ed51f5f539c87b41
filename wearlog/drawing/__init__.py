"""Pictures made from snapshots, the same on screen and on paper."""
