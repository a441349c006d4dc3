"""Inspection rounds: check items, hold points, what reopens what."""
