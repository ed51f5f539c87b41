"""The settings page: limits, intervals, instruments, the workshop, this seat, the database."""
