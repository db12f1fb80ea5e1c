"""placeholder while the store is being written"""

MOST_EDITS = 2**53 - 1
"""Edits are numbered within what JSON numbers hold exactly."""
