"""A vehicle of the fleet: added, changed, retired; with its stages, parts, duty and lay-ups."""
