"""What the room's routes take and answer, besides the crit's own things."""
