"""Inspection rounds: answers in the record, hold points, and what they bring to the decision."""
