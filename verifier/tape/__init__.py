"""Tape readings: instruments, readings, their plausibility and their uncertainty."""
