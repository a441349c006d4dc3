"""Pictures for people: what was measured drawn into the photo."""
