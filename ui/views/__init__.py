"""Short files, one a page."""
