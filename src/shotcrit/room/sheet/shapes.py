"""What was measured on a take, in the shape that the sheet and the picture draw from. Frames are indices from 0, both ends inside."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from shotcrit.checks.about import Column
from shotcrit.crit.records import Id, Index, Shape
from shotcrit.readings.events import Why
from shotcrit.room.arrays import Packed
from shotcrit.sheet.model import SeriesId, StretchKind


class SheetWord(Shape):
    text: str
    who: str | None
    start_s: float
    end_s: float
    first: Index
    last: Index
    confidence: float
    line: int
    by_hand: Id | None


class SheetPhone(Shape):
    phone: str
    stress: int | None
    word: int | None
    start_s: float
    end_s: float
    first: Index
    last: Index
    by_hand: Id | None


class SheetBreath(Shape):
    kind: Literal["inhale", "exhale", "smack"]
    who: str | None
    start_s: float
    end_s: float
    first: Index
    last: Index
    level_db: float
    confidence: float
    by_hand: Id | None


class SheetAccent(Shape):
    """rank 1 is the strongest."""

    time_s: float
    frame: Index
    strength: float
    rank: int
    word: int | None


class SheetCut(Shape):
    """frame: the first of the new shot."""

    frame: Index
    by_hand: Id | None


class SheetLine(Shape):
    """heard false: it was not spoken as written, or cannot be heard; problem says why, in kind and in words; instead: phones heard in its place."""

    text: str
    who: str | None
    heard: bool
    confidence: float
    start_s: float | None
    end_s: float | None
    problem: str | None
    why: Why | None
    instead: str | None


class SheetTremor(Shape):
    start_s: float
    end_s: float
    rate_hz: float
    depth: float
    carrier: Literal["level", "pitch"]


class SheetLook(Shape):
    """confidence: 1 for a look of the cast; below for a proposed one."""

    who: str
    at: str
    first: Index
    last: Index
    proposed: bool
    confidence: float


class SheetBlink(Shape):
    who: str
    first: Index
    shut: Index
    last: Index
    partial: bool


class SheetRun(Shape):
    first: Index
    last: Index


class SheetSeries(Shape):
    """One number a frame, float32 [frames]."""

    name: str
    unit: str
    values: Packed


class SheetTrack(Shape):
    """xy float32 [frames, 2] fractions of the picture; error_px float32 [frames]; placed: frames set by hand."""

    mark: str
    xy: Packed
    error_px: Packed
    placed: list[Index]


class SheetGaze(Shape):
    """One eye: origin, iris float32 [frames, 2] fractions of the picture; direction float32 [frames, 3]: x right, y down, z away."""

    side: Literal["left", "right"]
    origin: Packed
    iris: Packed
    direction: Packed
    error_deg: Packed


class SheetActing(Shape):
    """What one character or prop does. lacks: part -> what is missing to measure it.

    level : 1.5 from a face that was found, its mouth alone; 2 from marks; 3 from a scene
    worth : frames that would teach the mouth most when marked, by name: 'shut', 'open', 'wide'
    """

    who: str
    level: float
    series: list[SheetSeries]
    marks: list[SheetTrack]
    gaze: list[SheetGaze]
    lacks: dict[str, str]
    worth: dict[str, Index] = Field(default_factory=dict)


class FollowedTrack(SheetTrack):
    who: str


class Followed(Shape):
    """Marks as far as they are followed just now; empty when nothing is being followed."""

    take: Id
    tracks: list[FollowedTrack]


class SheetStretch(Shape):
    """Something on rows start .. stop, positions in rows from 0; at `start` alone where the two are the same.

    text : what is written beside it; sure : false is drawn broken; leads : the first word of a line, which says who speaks
    count : number on its first row, for rows that are counted one by one; 0: they are not
    event : its place among the sheet's words, phones, breaths or cuts
    """

    start: float
    stop: float
    kind: StretchKind
    text: str
    who: str | None
    sure: bool
    leads: bool
    count: int
    event: Index | None


class SheetCurve(Shape):
    """One number a row from row `first` on, 0..1 of the lane's width: float32 [n], NaN where not known.

    'sound.wave' is int8 [n, k, 2], least and greatest in each of k slices of a row, 127 for its loudest
    """

    id: SeriesId
    says: str
    first: Index
    values: Packed


class SheetProposed(Shape):
    """Marks that a found face proposes on one frame. shape: what the frame is worth marking for; marks: by name, x and y as fractions of the picture"""

    frame: Index
    shape: Literal["shut", "open", "wide", "facing"]
    marks: dict[str, tuple[float, float]]


class SheetFace(Shape):
    """A face that was found in one shot, from frame first to last.

    who : whose it is taken for, and how surely (0..1); null where nothing tells; said : by a person
    middle : float32 [last - first + 1, 2] fractions of the picture; size : float32 [last - first + 1], from forehead to chin, fraction of its width
    point : where it lies on frame `at`, by which a cast names it; proposed : drafts, which count only once confirmed
    """

    id: int
    who: str | None
    sure: float
    said: bool
    first: Index
    last: Index
    middle: Packed
    size: Packed
    at: Index
    point: tuple[float, float]
    proposed: list[SheetProposed]


class SheetLane(Shape):
    """What stands in a column, or in one character's part of it; finished, to be painted as the sent sheet is."""

    column: Column
    who: str | None
    stretches: list[SheetStretch]
    curves: list[SheetCurve]


class Sheet(Shape):
    """Everything the sheet shows, with hand-made corrections put over the measurement.

    edges_s : frames + 1 times in seconds; frame i is on screen from edges_s[i] up to edges_s[i + 1]
    wave : int8 [frames, k, 2], least and greatest sample in each of k slices of a frame, 127 = full scale; null without sound
    repeats : runs of frames that each repeat the frame before, a rhythm's own among them; dead frames are stretches of the lanes
    lanes : what is drawn, as on the sent sheet; the lists before are what was measured
    movement : how much the picture moves against the frame before
    """

    take: Id
    measured: bool
    frames: int
    first_frame: int
    rate: str
    edges_s: list[float]
    lines: list[SheetLine]
    words: list[SheetWord]
    phones: list[SheetPhone]
    breaths: list[SheetBreath]
    tremors: list[SheetTremor]
    accents: list[SheetAccent]
    cuts: list[SheetCut]
    repeats: list[SheetRun]
    movement: SheetSeries | None
    wave: Packed | None
    looks: list[SheetLook]
    blinks: list[SheetBlink]
    acting: list[SheetActing]
    faces: list[SheetFace] = Field(default_factory=list)
    lanes: list[SheetLane]
