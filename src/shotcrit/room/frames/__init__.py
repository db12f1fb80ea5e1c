"""Pictures and sound."""
