"""What is printed of a pour: pour card, order sheet, release document."""
