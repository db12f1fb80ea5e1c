"""What a measure says is done well. `check` chooses, `acted` looks at eyes and breaths, `moved` at arcs, overlap and moving holds."""
