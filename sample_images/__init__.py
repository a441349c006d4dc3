"""The sample pour: drawing values, photos and tape readings of an invented slab."""
