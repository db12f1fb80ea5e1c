"""Dead frames. `check` is the check; `figure` tells whom a frozen region shows."""
