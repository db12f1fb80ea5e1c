"""Lids against what lids do: how often, how long, together, with a turn of the head, and after the eyes."""
