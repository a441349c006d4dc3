"""Finding a board in the photo, to a fraction of a pixel, or saying why there is none."""
