"""Pictures and sound of a take, as routes take and answer them. Frames are indices from 0, both ends inside."""

from __future__ import annotations

from shotcrit.crit.records import Id, Index, Shape


class FrameRun(Shape):
    first: Index
    last: Index


class SoundHere(Shape):
    """url: the take's whole sound; offset_s: time of its first sample from the first picture (negative: it starts earlier)."""

    url: str
    rate: int
    channels: int
    offset_s: float
    duration_s: float


class FrameTable(Shape):
    """Which picture is on screen when. edges_s: frames + 1 seconds. url: put the index for {index}. ready: frames built so far."""

    take: Id
    frames: int
    first_frame: int
    rate: str
    width: int | None
    height: int | None
    edges_s: list[float]
    url: str
    ready: list[FrameRun]
    sound: SoundHere | None


class Playhead(Shape):
    """Where the reviewer is; frames are built around here first."""

    index: Index
