"""What each column of a workshop's own sheet says, and the import of it."""
