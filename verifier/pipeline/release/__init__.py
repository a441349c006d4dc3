"""Whether a release was given, and whether it still stands."""
