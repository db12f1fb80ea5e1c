"""Eyes read inside a steadied head: eyeball, iris, gaze and lids."""
