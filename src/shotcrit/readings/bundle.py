"""Everything measured on one medium: what a check gets to see, and nothing else."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Literal, TypeVar

import numpy as np

from shotcrit.clock import FrameClock, Numbering, Span
from shotcrit.media.info import MovieInfo
from shotcrit.readings.acting import Acting, CameraView
from shotcrit.readings.cast import Cast
from shotcrit.readings.events import Accent, Blink, Breath, Line, Look, Phone, Tremor, Voicing, Word
from shotcrit.readings.faces import FoundFace
from shotcrit.readings.seen import BoolArray, Cadence, Fade, Flashing, FloatArray, FrozenRegion, LiveRegion, Pull

T = TypeVar("T")
Medium = Literal["cg", "drawn", "blocking"]
"""How a shot is made: rendered, drawn, or a stepped blocking pass, whose holds and jumps are meant."""


@dataclass(frozen=True)
class Series:
    """One number a frame.

    values : float32 [shape=(n_frames,)]; nan where it could not be measured, never interpolated
    unit : of the values, as shown to people ('px', 'dB', 'of head height')
    """

    name: str
    unit: str
    values: FloatArray


@dataclass(frozen=True)
class SoundReadings:
    """All readings of the sound. wave : float32 [shape=(n_frames, k, 2)] least and greatest sample in each of k slices of a frame.

    breaths_need : what it would take to hear breaths in it, a clause; None where they can be heard
    """

    lines: tuple[Line, ...] = ()
    words: tuple[Word, ...] = ()
    phones: tuple[Phone, ...] = ()
    breaths: tuple[Breath, ...] = ()
    tremors: tuple[Tremor, ...] = ()
    accents: tuple[Accent, ...] = ()
    voicing: tuple[Voicing, ...] = ()
    wave: FloatArray = field(default_factory=lambda: np.zeros((0, 1, 2), np.float32))
    breaths_need: str | None = None


@dataclass(frozen=True)
class PictureReadings:
    """All readings of the picture alone.

    repeats : bool [shape=(n_frames,)]; frame i repeats frame i-1 within the noise of codec and grain; [0] is False
    movement : how much the picture moves against the frame before it, px of the full-size frame
    cuts : index of the first frame of each new shot; the first shot's 0 is not in it
    noise : the estimated noise of an unchanged picture, in 8-bit luma steps
    cadence : the rhythm of new pictures
    black, fades, cards : stretches in which nobody acts: see picture/unacted.py
    frozen : stops of a region while the rest moves on; regions : the patches with a life of their own
    flashing : changes of light
    centre : float32 [shape=(n_frames, 2)]; where the picture moves, x and y as fractions of it; nan where nothing moves
    pull : what draws the eye
    faces : those that were found by themselves, nobody named; none where the weights are not here
    camera : float32 [shape=(n_frames, 2, 3)]; movement of the set against the frame before: px of the full-size frame at place p (px) = camera @ (p, 1)

    What is None was not read.
    """

    repeats: BoolArray
    movement: Series
    cuts: tuple[int, ...]
    noise: float
    cadence: Cadence | None = None
    black: tuple[Span, ...] = ()
    fades: tuple[Fade, ...] = ()
    cards: tuple[Span, ...] = ()
    frozen: tuple[FrozenRegion, ...] = ()
    regions: tuple[LiveRegion, ...] = ()
    flashing: Flashing | None = None
    centre: FloatArray | None = None
    camera: FloatArray | None = None
    pull: Pull | None = None
    faces: tuple[FoundFace, ...] = ()

    @property
    def dead(self) -> BoolArray:
        """bool [shape=(n_frames,)]: repeats that belong to no rhythm."""
        return self.repeats if self.cadence is None else self.repeats & ~self.cadence.rhythm

    @property
    def acted(self) -> BoolArray:
        """bool [shape=(n_frames,)]: neither black, nor a card, nor within a fade. All else is no acting, and is judged as none."""
        found = np.ones(len(self.repeats), np.bool_)
        for span in (*self.black, *self.cards, *(fade.span for fade in self.fades)):
            found[span.start : span.stop] = False
        return found


@dataclass(frozen=True)
class Assumed:
    """What was taken for granted while measuring, and may be wrong: a sentence that begins with what it is about, small letter, no full stop.

    about : movie, frames (which count, and whether the cast counts them alike), sound, lines or scene
    """

    about: Literal["movie", "frames", "sound", "lines", "scene"]
    says: str


Part = Literal["sound", "pictures", "scene", "marks", "looks"]
"""Readings that are made one by one."""


@dataclass(frozen=True)
class Broken:
    """A part that broke off in a way that nobody foresaw, and what it needs: half a sentence that names the report."""

    part: Part
    needs: str


@dataclass(frozen=True)
class Readings:
    """What was measured. A part that is None was not there to measure."""

    movie: MovieInfo
    clock: FrameClock
    medium: Medium = "cg"
    counts: Span | None = None
    """The frames that are judged; None for all. The rest are handles: read and shown, and not judged."""
    sound: SoundReadings | None = None
    picture: PictureReadings | None = None
    cast: Cast | None = None
    acting: tuple[Acting, ...] = ()
    faces: tuple[FoundFace, ...] = ()
    """Found in the picture, named where lines, looks or a person tell whose they are."""
    cameras: tuple[CameraView, ...] = ()
    """One a frame, level 3 only."""
    looks: tuple[Look, ...] = ()
    blinks: tuple[Blink, ...] = ()
    assumed: tuple[Assumed, ...] = ()
    broken: tuple[Broken, ...] = ()
    _made: dict[str, object] = field(default_factory=dict, init=False, repr=False, compare=False)

    def once(self, name: str, make: Callable[[], T]) -> T:
        """What `make` makes of these readings, made once however many checks ask for it. name : of what is made, one thing each; not to be written into"""
        if name not in self._made:
            self._made[name] = make()
        return self._made[name]  # type: ignore[return-value]

    def actor(self, who: str, *, level: int | None = None) -> Acting | None:
        """The best-level acting of a character or prop."""
        own = [a for a in self.acting if a.who == who and level in (None, a.level)]
        return max(own, key=lambda a: a.level, default=None)

    def with_mouth(self, who: str) -> Acting | None:
        """The best-level acting of a character that knows its mouth; where none does, the best."""
        own = [a for a in self.acting if a.who == who]
        return max(own, key=lambda a: (a.mouth is not None, a.level), default=None)

    def lost_nodes(self, who: str) -> str:
        """'; the cast names nodes that ...' of a character or prop whose nodes the scene lacks, to be put after what a check needs; else ''."""
        lost = next((a.lacks["scene"] for a in self.acting if a.who == who and "scene" in a.lacks), "")
        return f"; the cast names {lost}" if lost else ""

    @property
    def numbering(self) -> Numbering:
        return Numbering(self.movie.first_frame)
