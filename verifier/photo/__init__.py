"""Photo intake: bytes become a hash, claims, observations and upright pixels; nothing is believed, nothing is repaired.

Pixels: x right, y down, (0, 0) the centre of the top-left pixel. *Stored* pixels are as the file holds them, *upright*
pixels have the Exif orientation applied.
"""
