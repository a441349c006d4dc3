"""From a photo that was taken in to numbers with a place, and the pictures that show them."""
