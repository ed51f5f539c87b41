"""Builders of realistic snapshots, without a database."""
