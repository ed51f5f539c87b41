"""Intervals, due items and visits."""
