"""Mouths read inside a steadied head: opening and width, from the few frames that a person marked."""
