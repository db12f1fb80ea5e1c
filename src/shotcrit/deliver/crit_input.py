"""What a crit's page and PDF are made of: plain values, gathered by whoever wires store, media and delivery together."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Literal

from shotcrit.checks.measured import Measured
from shotcrit.clock import Span
from shotcrit.counted import counted
from shotcrit.crit.records import Stroke
from shotcrit.errors import InputError
from shotcrit.sheet.build import build_sheet
from shotcrit.sheet.lanes.beside import side_by_side
from shotcrit.sheet.model import Bracket, Sheet

Weight = Literal["must", "polish", "keep"]
MOST_ON_COVER = 4
"""Stills side by side on the cover (guess: five are too small to know a shot by)."""


@dataclass(frozen=True)
class Drawn:
    """A drawing over frame indices first..last (both in), its strokes from below to above."""

    first: int
    last: int
    strokes: tuple[Stroke, ...]


@dataclass(frozen=True)
class Snippet:
    """The noted frames to play: JPEG pictures from frame index `first` on, and the sound of exactly these frames.

    wav : a whole WAV file that starts when picture `first` does and ends when the last ends; None without sound
    """

    first: int
    pictures: tuple[bytes, ...]
    wav: bytes | None = None


@dataclass(frozen=True)
class NoteForDelivery:
    """One note. Frames are indices, both ends in. still: JPEG of frame `at`, full picture; value: what was measured, in words."""

    id: str
    first: int
    last: int
    weight: Weight
    what: str
    why: str = ""
    suggest: str = ""
    who: str | None = None
    value: str = ""
    drawings: tuple[Drawn, ...] = ()
    at: int | None = None
    still: bytes | None = None
    snippet: Snippet | None = None

    @property
    def span(self) -> Span:
        return Span(self.first, self.last + 1)

    @property
    def shown_at(self) -> int:
        """The frame of the still: as chosen, else the drawing's, else the first."""
        return self.at if self.at is not None else self.drawings[0].first if self.drawings else self.first


@dataclass(frozen=True)
class CritForDelivery:
    """A crit as it is sent. notes: in the order they will be read; one_thing: id of the note to begin with.

    crit, take : ids that the animator's answers come back with
    measured : the take's measurement, for the sheet; of its findings those alone that were taken
    unreleased : the line about unreleased pictures
    """

    crit: str
    take: str
    shot: str
    take_label: str
    measured: Measured
    overall: str = ""
    praise: str = ""
    one_thing: str | None = None
    notes: tuple[NoteForDelivery, ...] = ()
    animator: str = ""
    reviewer: str = ""
    unreleased: str = ""
    shot_stills: dict[int, bytes] = field(default_factory=dict)

    def require_sound(self) -> None:
        """Raise InputError, one sentence, for notes that do not lie in the take or share an id."""
        frames = len(self.measured.readings.clock)
        ids = [note.id for note in self.notes]
        for note in self.notes:
            if not (0 <= note.first <= note.last < frames and 0 <= note.shown_at < frames):
                raise InputError(
                    f"note '{note.what[:40]}' lies outside the take, which has {counted(frames, 'frame')}; choose frames inside it"
                )
            if ids.count(note.id) > 1:
                raise InputError(f"two notes have the id '{note.id}'; give each its own")


def cover_stills(stills: Mapping[int, tuple[str, float]]) -> list[tuple[int, tuple[str, float]]]:
    """The first frame of each shot, as many as stand side by side; of more, some spread over the whole."""
    known = sorted(stills.items())
    steps = min(MOST_ON_COVER, len(known))
    return [known[round(i * (len(known) - 1) / max(1, steps - 1))] for i in range(steps)]


def crit_sheet(crit: CritForDelivery) -> Sheet:
    """The take's sheet with the notes beside their rows instead of the findings."""
    sheet = build_sheet(crit.measured)
    return replace(sheet, title=crit.shot, found=note_brackets(crit.notes), heads=("notes", ""))


def note_brackets(notes: Sequence[NoteForDelivery]) -> tuple[Bracket, ...]:
    return side_by_side(
        Bracket(number, note.first, note.last, 0, note.weight, headline(note), note.what) for number, note in enumerate(notes, start=1)
    )


HEADLINE = 60
"""Characters of a note beside its rows (guess: what four short lines hold)."""


def headline(note: NoteForDelivery) -> str:
    """The note's first sentence, cut at a word."""
    first = note.what.strip().split("\n")[0].split(". ")[0]
    if len(first) <= HEADLINE:
        return first
    return first[:HEADLINE].rsplit(" ", 1)[0] + "…"
