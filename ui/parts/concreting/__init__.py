"""Falsework, order, weather, the pour log and the closing of the record."""
