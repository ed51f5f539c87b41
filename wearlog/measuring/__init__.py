"""Readings turned into wear with its standard uncertainty."""
