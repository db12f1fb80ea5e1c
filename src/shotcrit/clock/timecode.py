"""Time code, by OpenTimelineIO (SMPTE ST 12-1 as its public test vectors have it)."""

from __future__ import annotations

from fractions import Fraction

import opentimelineio as otio

from shotcrit.clock.rates import rate_label
from shotcrit.errors import InputError

_DROP = (Fraction(30000, 1001), Fraction(60000, 1001))


def frame_to_timecode(frame: int, rate: Fraction, *, drop: bool = False) -> str:
    """Frame number (0 = 00:00:00:00) as time code; drop-frame has a ';' before the frames.

    Raises InputError for negative frames, for drop-frame at other rates than 29.97 and 59.94,
    and for rates that have no time code.
    """
    if frame < 0:
        raise InputError(f"frame {frame} has no time code; time code starts at frame 0")
    if drop and rate not in _DROP:
        raise InputError(f"drop-frame time code exists at 29.97 and 59.94 only, not at {rate_label(rate)}; ask for non-drop")
    time = otio.opentime.RationalTime(frame, float(rate))
    try:
        return str(otio.opentime.to_timecode(time, float(rate), drop))
    except ValueError as problem:
        raise InputError(f"time code does not exist at {rate_label(rate)} frames per second; give --rate") from problem


def timecode_to_frame(text: str, rate: Fraction) -> int:
    """Time code to frame number. Raises InputError for text that is no time code at this rate, or a dropped number."""
    try:
        frame = round(otio.opentime.from_timecode(text, float(rate)).value)
    except ValueError as problem:
        shown = rate_label(rate)
        raise InputError(f"'{text}' is no time code at {shown} frames per second; write it as 01:02:03:04") from problem
    if frame_to_timecode(frame, rate, drop=";" in text) != text:
        raise InputError(f"'{text}' does not exist in drop-frame time code, which leaves that number out; use the next one")
    return frame


def frame_to_label(frame: int, rate: Fraction) -> str:
    """The time code people expect for a frame: non-drop where the rate has one, else hours:minutes:seconds and thousandths."""
    try:
        return frame_to_timecode(frame, rate)
    except InputError:
        seconds = frame / rate
        return f"{int(seconds // 3600):02d}:{int(seconds // 60) % 60:02d}:{float(seconds % 60):06.3f}"
