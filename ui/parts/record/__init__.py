"""What the record shows to whoever settles a dispute: originals in time, what is proven, what changed, what to take away."""
