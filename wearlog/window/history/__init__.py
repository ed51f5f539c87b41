"""The page of what happened to one vehicle, and of the trail of every change."""
