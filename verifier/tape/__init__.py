"""Tape readings: read as written, asked about where they look like a slip, measured with the doubt of their instrument."""
