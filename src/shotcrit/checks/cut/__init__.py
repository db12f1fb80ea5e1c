"""Each cut. `check` is the check; `gaze`, `line` and `faces` hold its two sides against each other, `view` knows where cameras stand."""
