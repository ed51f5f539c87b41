"""The service sheet: what was measured, what it means, and what was done."""
