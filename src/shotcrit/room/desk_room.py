"""The room over one crit (being written)."""

from __future__ import annotations

from typing import Any


class Room:
    MOST_ANSWERS = 8 * 2**20

    def __getattr__(self, name: str) -> Any: ...
