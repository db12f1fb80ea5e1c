"""A page of a screenplay: a name in capitals on a row of its own, and under it what is said, up to the next blank row.

INT. BOAT SHED - NIGHT

OONA (V.O.)
(under her breath)
You said the lamp would burn all night.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import replace

from shotcrit.readings.sound.given import GivenLine
from shotcrit.readings.sound.speakers import named_speech
from shotcrit.readings.sound.written import speech

MOST_NAME_WORDS = 4
"""Words of a name in capitals ('THE OLD HARBOUR MASTER'); longer rows are shouted (guess)."""
_EXTENSION = re.compile(r"\s*\([^()]*\)")
_HEADING = re.compile(r"(?:INT|EXT|EST|I/E|INT\./EXT)[. /]")


def is_screenplay(text: str) -> bool:
    """Whether names stand on rows of their own, and nowhere as 'Name: words'."""
    rows = [row.strip() for row in text.splitlines()]
    return any(_cues(rows)) and not any(named_speech(row)[0] for row in rows)


def screenplay_lines(text: str, name: str) -> Iterator[GivenLine]:
    """The speeches of a screenplay's page. What stands under no name is action: it is kept with the speech after it, as a direction."""
    rows = [row.strip() for row in text.splitlines()]
    cues = _cues(rows)
    at, action = 0, []
    while at < len(rows):
        if not cues[at]:
            action += [rows[at]] if rows[at] else []
            at += 1
            continue
        stop = next((i for i in range(at + 1, len(rows)) if not rows[i] or cues[i]), len(rows))
        who = rows[at].partition("(")[0]
        for line in speech(" ".join([rows[at][len(who) :], *rows[at + 1 : stop]]), who, f"{name}, line {at + 1}"):
            yield replace(line, directions=(*action, *line.directions))
            action = []
        at = stop


def _cues(rows: list[str]) -> list[bool]:
    """Which rows are a name over a speech. In a text without blank rows each fitting row is; else only one after a blank row."""
    dense = not any(not row for row in rows[1:-1])
    return [
        _is_name(row) and i + 1 < len(rows) and _is_speech(rows[i + 1]) and (i == 0 or dense or not rows[i - 1])
        for i, row in enumerate(rows)
    ]


def _is_name(row: str) -> bool:
    bare = _EXTENSION.sub("", row).strip()
    letters = [c for c in bare if c.isalpha()]
    fits = len(letters) > 1 and bare[0].isalpha() and bare == bare.upper() and bare != bare.lower() and len(bare) <= 40
    return (
        fits and len(bare.split()) <= MOST_NAME_WORDS and not re.search(r"[!?,;:]|\.{2,}|\.$|\u2026|\[", bare) and not _HEADING.match(bare)
    )


def _is_speech(row: str) -> bool:
    """Words in the usual mixed case, or a direction before them."""
    return row.startswith("(") or any(c.islower() for c in row)
