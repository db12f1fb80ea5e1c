"""Settings in the room: the reviewer's own choices, limits and phrases."""
