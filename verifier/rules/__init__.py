"""Requirement and measurements become findings. Plain Python: no pixels, no database, no page."""
