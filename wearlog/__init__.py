"""wearlog keeps track of drive-line wear and service intervals for a workshop behind a fleet."""

__version__ = "0.1.0"
