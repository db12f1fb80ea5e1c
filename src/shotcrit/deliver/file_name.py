"""Names of files that are sent."""

from __future__ import annotations

LONGEST = 80
"""Letters; with what is put behind it a name stays well under the 255 bytes that file systems take, in most scripts."""


def file_name(text: str) -> str:
    """`text` as a part of a file's name: letters, digits, '-', '_' and '.' stay, all else becomes '_', so that file systems take it and links hold it."""
    tidy = "".join(sign if sign.isalnum() or sign in "-_." else "_" for sign in text).strip("._")
    return tidy[:LONGEST] or "shot"
