"""Intake of a photo: bytes, hash, claims of the file about itself, upright pixels, quality."""
