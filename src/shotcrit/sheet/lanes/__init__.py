"""What is laid in the sheet's columns: one file for what is heard, seen, looked at and found. Pure."""
