"""Which crit this user opened last, so that `shotcrit open` by itself goes on with it. One line beside the habits."""

from __future__ import annotations

from contextlib import suppress
from pathlib import Path

from shotcrit.errors import InputError

NAME = "last-opened"
LONGEST = 4096
"""Letters; a longer line is no path of ours."""


def note_opened(habits: Path, crit: Path) -> None:
    """Remember a crit. A folder that may not be written remembers nothing, and nobody is kept from working by it."""
    with suppress(OSError):
        habits.parent.mkdir(parents=True, exist_ok=True)
        habits.with_name(NAME).write_text(f"{crit.absolute()}\n", encoding="utf-8")


def opened_last(habits: Path) -> Path:
    """The crit that was opened last. Raises InputError where none was, or where it has gone."""
    try:
        line = habits.with_name(NAME).read_text(encoding="utf-8")[:LONGEST].strip()
    except (OSError, UnicodeDecodeError):
        line = ""
    if not line or "\0" in line:
        raise InputError("nothing was opened here yet; name a movie or a crit: shotcrit open MOVIE")
    crit = Path(line)
    if not crit.is_file():
        raise InputError(f"{crit}, which was opened last, is not there any more; name a movie or a crit: shotcrit open MOVIE")
    return crit
