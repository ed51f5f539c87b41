"""The fleet at the left of the window: always there, filtered by typing, walked with the arrow keys."""
