"""The room over one crit: all its parts together."""

from __future__ import annotations

from shotcrit.room.sending import Sending


class Room(Sending):
    """One open crit, as routes use it. Each part is a class of its own: base, editing, takes, pictures, judging, casting, sending."""
