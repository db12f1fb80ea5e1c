"""The lines as given: who says what, in which words, and what of the text is not spoken. lines_file.py reads them."""

from __future__ import annotations

from dataclasses import dataclass

Phones = tuple[str, ...]


@dataclass(frozen=True)
class GivenWord:
    """A word as written, and how to say it where the line says so: phones with or without stress digits, else None."""

    text: str
    phones: Phones | None = None


@dataclass(frozen=True)
class GivenLine:
    """One speech.

    start_s, end_s : bound the search, in seconds from the start of the sound; None where not given
    directions : what stands in the text and is not spoken, as written: '(softly)', '<laugh>', '*sighs*'
    """

    text: str
    who: str | None
    words: tuple[GivenWord, ...]
    start_s: float | None = None
    end_s: float | None = None
    directions: tuple[str, ...] = ()
