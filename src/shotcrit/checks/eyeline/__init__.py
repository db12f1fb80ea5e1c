"""Where eyes point against where they should. `check` is the check; `judge` holds one look against its target, the rest words and draws it."""
