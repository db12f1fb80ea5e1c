"""Who speaks, as people write it before a speech: 'Name: words', 'NAME (V.O.): words', 'NAME:words'."""

from __future__ import annotations

import re

_BEFORE = re.compile(r"([^\W\d_][^:\[\]|()<>]{0,39}?)?((?:\s*[(\[][^()\[\]|]*[)\]])*)\s*:(\s*)(.*)", re.DOTALL)


def named_speech(row: str) -> tuple[str | None, str]:
    """The name before a speech, or None, and the speech. A row that begins with a colon has no name.

    Directions that stand with the name, (V.O.) and their like, are handed on with the speech, where they are told as such.
    """
    found = _BEFORE.fullmatch(row)
    if found is None:
        return None, row
    name, extension, gap, said = (found[1] or "").strip(), found[2].strip(), found[3], found[4]
    if not name:
        return None, said if row.startswith(":") else row
    if not gap and not _is_name(name, said):
        return None, row
    return name, f"{extension} {said}" if extension else said


def _is_name(name: str, said: str) -> bool:
    """Whether a colon with no space behind it ends a name: not a time (at 10:30), an address (http://) or a clause (I know:now)."""
    words = name.split()
    capital = all(word[0].isupper() or not word[0].isalpha() for word in words)
    return bool(said) and said[0] not in "/\\" and not said[0].isdigit() and (capital or len(words) == 1)
