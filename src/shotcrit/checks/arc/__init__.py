"""Path and spacing of every mark. `check` is the check; `events` finds what is odd about one way, `grouped` what belongs together, `words` says it."""
