"""What goes with a person from crit to crit: settings, key bindings, reaction time, phrases. One small file in the user's own folder."""

from __future__ import annotations

import getpass
import json
import os
import secrets
from contextlib import suppress
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from platformdirs import user_config_path

from shotcrit.crit.unreleased import LINE, SETTING
from shotcrit.errors import InputError
from shotcrit.plain_file import read_plain

BIGGEST = 4 * 2**20
"""Bytes; a larger file was not written by us."""


@dataclass(frozen=True)
class Habits:
    """settings by name; phrases as bodies of crit.records.Phrase."""

    settings: dict[str, Any] = field(default_factory=dict)
    phrases: tuple[dict[str, Any], ...] = ()


def login_name() -> str:
    """Who is at the keyboard, as the system knows; 'reviewer' where it does not."""
    try:
        return getpass.getuser()
    except (OSError, KeyError, ImportError):
        return "reviewer"


def habits_file() -> Path:
    """Where this user's habits are kept."""
    return user_config_path("shotcrit") / "habits.json"


def read_habits(path: Path) -> Habits:
    """The habits, or none when the file is missing or not sound: nobody should be kept from working by it."""
    try:
        read = read_plain(path, most=BIGGEST, over="which no habits need; delete it", give="a file of habits, or none")
        data = json.loads(read.decode("utf-8"))
        settings, phrases = data["settings"], data["phrases"]
    except (InputError, ValueError, KeyError, TypeError, RecursionError):
        return Habits()
    if not isinstance(settings, dict) or not isinstance(phrases, list):
        return Habits()
    return Habits(settings, tuple(p for p in phrases if isinstance(p, dict)))


def own_line(habits: Habits) -> str:
    """The person's line about unreleased pictures, for what is sent without a crit."""
    chosen = habits.settings.get(SETTING)
    return chosen if isinstance(chosen, str) else LINE


def write_habits(path: Path, habits: Habits) -> None:
    """Replace the file as a whole. A folder that may not be written keeps the old habits; the crit has the new ones anyway."""
    text = json.dumps({"settings": habits.settings, "phrases": list(habits.phrases)}, ensure_ascii=False, indent=1)
    part = path.with_name(f".{path.name}.{secrets.token_hex(4)}")
    with suppress(OSError):
        path.parent.mkdir(parents=True, exist_ok=True)
        try:
            part.write_text(text, encoding="utf-8")
            os.replace(part, path)
        finally:
            part.unlink(missing_ok=True)
