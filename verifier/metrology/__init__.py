"""Measurements with their uncertainty budgets, the conformity decision, the agreement of two measurements."""
