"""Bars: which way they run, where each lies, how thick it is, and the gaps between them."""
