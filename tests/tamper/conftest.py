"""Fixtures of the record's world, for every test in this folder."""

from record_world import bundle, people_keys, pour, sealed

__all__ = ["bundle", "people_keys", "pour", "sealed"]
