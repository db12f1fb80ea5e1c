"""Faces that are found in the picture with nobody's help: where, which way, and how their mouths move. No one is recognised."""
