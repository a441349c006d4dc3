"""Drawn scenes of bar mats with exact labels, and the training of the label network. Not imported by the package."""
