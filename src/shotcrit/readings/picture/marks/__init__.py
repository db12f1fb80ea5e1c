"""Marks followed through the picture, both ways from each frame on which a person placed them."""
