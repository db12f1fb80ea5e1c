"""Looks: who looks at what, where eyes are and point (`space`), when they rest, the direction wanted of each (`wanted`), and what rests propose."""
