"""What goes into the record besides evidence, what is told and sealed out of it, and time stamps over its head."""
