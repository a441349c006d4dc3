"""Pre-pour verification: photos and tape readings become measured, signed evidence for one concrete pour.

Data flows one way: photo -> measurement -> comparison -> decision -> sealed record -> page and report.
"""

__version__ = "0.1.0"
