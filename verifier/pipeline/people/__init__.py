"""Who acts on which pour, with which key, and who may do what."""
