"""Measuring a take of a crit: its stored lines, cast and scene as a request."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction
from pathlib import Path

from shotcrit.crit.records import Take
from shotcrit.measuring.request import MeasureRequest, said_from_text
from shotcrit.media.picture_files import is_sequence


def take_request(take: Take, limits: Mapping[str, float]) -> MeasureRequest:
    """What measuring a take means. Raises InputError for lines that cannot be read."""
    lines, track, key = said_from_text(take.lines)
    # Only what has no rate of its own (a sound, a sequence) is opened at the take's.
    has_own = take.width is not None and not is_sequence(Path(take.path))
    return MeasureRequest(
        movie=Path(take.path),
        lines=lines,
        track=track,
        said_key=key,
        cast=take.cast if take.cast.marked else None,
        scene=Path(take.scene) if take.scene else None,
        sound=Path(take.sound_path) if take.sound_path else None,
        rate=None if has_own else Fraction(take.rate),
        first_frame=take.first_frame,
        count_from=None if take.counts is None else take.first_frame + take.counts.first,
        count_to=None if take.counts is None else take.first_frame + take.counts.last,
        medium=take.medium,
        limits=dict(limits),
    )
