"""The check of a whole pour, and what is to be done next."""
