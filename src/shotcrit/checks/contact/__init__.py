"""What is held or stood on must not slide. `check` is the check; `turning` tells a turn from a slide, `seen` how large one looks."""
