"""Files that other programs open, and what comes back from them: one file a format, listed in formats.py alone."""
