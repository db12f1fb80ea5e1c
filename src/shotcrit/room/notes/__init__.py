"""Notes, drawings and first-look markers."""
