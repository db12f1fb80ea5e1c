"""Heads steadied as rigid bodies, so that mouths and eyes can be read where they would be if the head had not moved."""
