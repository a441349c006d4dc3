"""Quantities, order, site mix, weather, pour log, cubes and curing."""
