"""Wear trends learned from the fleet: arrays in, arrays out."""
