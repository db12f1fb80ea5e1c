"""The sheet of a take, for the page."""
