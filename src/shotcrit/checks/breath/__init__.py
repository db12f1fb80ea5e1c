"""Breaths: heard, and acted or not. `check` is the check; `body` and `acted` hold each breath against the body, `line` a whole line."""
