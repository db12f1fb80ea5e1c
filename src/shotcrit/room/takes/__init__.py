"""Takes and where their movies lie."""
