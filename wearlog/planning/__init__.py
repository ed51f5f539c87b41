"""Intervals, states, and due items grouped into visits."""
