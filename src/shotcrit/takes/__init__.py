"""Two takes of one shot: lining them up, what changed between them, and what became of what was found and asked."""
