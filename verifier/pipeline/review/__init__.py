"""What a reviewer adds to a pour, and the pour handed over for review."""
