"""How marks move: their ways through a shot, what is odd about them from frame to frame, and how smooth they are. Levels 2 and 3, no opinion."""
