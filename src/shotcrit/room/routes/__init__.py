"""The room's routes, one file a topic. Each is one call of the room."""
