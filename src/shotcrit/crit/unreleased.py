"""The line about unreleased pictures that stands on every page and PDF that is sent, since frames and sound are inside."""

from __future__ import annotations

from shotcrit.crit.records import Setting
from shotcrit.crit.view import View

SETTING = "unreleased"
LINE = "Unreleased pictures: please show them only to people who work on this shot."
"""Until the reviewer chooses another."""


def unreleased_line(view: View) -> str:
    """As the reviewer chose it; empty for none."""
    stored = view.get(Setting, SETTING)
    return stored.value if stored is not None and isinstance(stored.value, str) else LINE
