"""The inspection rounds, item by item."""
