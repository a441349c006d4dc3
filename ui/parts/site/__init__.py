"""What the site engineer works with: to do, photos on their way in, readings, what is asked back."""
