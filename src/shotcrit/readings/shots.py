"""Shots: the stretches of a movie between its cuts. The one place where they are made."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from shotcrit.clock import Span
from shotcrit.readings.bundle import Readings


def shots_between(cuts: Sequence[int], frames: int) -> list[Span]:
    """The stretches between cuts: shots_between([4], 10) -> [Span(0, 4), Span(4, 10)]. Cuts outside of the movie are none."""
    edges = [0, *sorted({cut for cut in cuts if 0 < cut < frames}), frames]
    return [Span(a, b) for a, b in pairwise(edges) if a < b]


def shots_of(readings: Readings) -> list[Span]:
    """The shots of what was read, as far as they count; one shot where there is no picture. A handle is no part of a shot."""
    shots = shots_between(readings.picture.cuts if readings.picture else (), len(readings.clock))
    if readings.counts is None:
        return shots
    return [part for shot in shots if (part := shot.overlap(readings.counts)) is not None]
