"""How work runs that the room does beside its answering."""

from __future__ import annotations

from shotcrit.elsewhere.bounds import Bounds

BEHIND = Bounds(background=True)
"""Frames keep coming while a movie is being measured."""
