"""What carries the bars - cover blocks and chairs - and what lies about on the deck."""
