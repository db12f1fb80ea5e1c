"""What was measured on a take: the sheet, lines, corrections by hand."""
