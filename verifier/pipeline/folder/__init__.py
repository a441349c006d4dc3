"""What lies in a pour folder: originals, their places, their camera, and what the drawing asks of them."""
