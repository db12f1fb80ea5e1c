"""How single blinks go: both eyes at once, and shut sooner than open."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from shotcrit.checks.about import Limits
from shotcrit.checks.blink.seen import Array, Lids
from shotcrit.checks.blink.stare import curve_of
from shotcrit.checks.finding import COMMON, Finding, Limit
from shotcrit.checks.parts import listed
from shotcrit.checks.sure import BAR
from shotcrit.clock import Span
from shotcrit.counted import counted
from shotcrit.readings.bundle import Readings
from shotcrit.readings.events import Blink

APART = Limit(
    "apart",
    0.75,
    "frames",
    f"{COMMON}: both eyes blink as one; guess: three quarters of a frame are seen",
    "How far the two eyes of a blink may lie apart.",
)
SLOWER = Limit(
    "slower", 1.0, "frames", "people close 40 to 47 % faster than they open (Sforza et al. 2008, Ophthalmic Physiol. Opt. 28:345-353); "
    "guess: one frame more may be rounding",
    "How much longer a blink may take to close than to open.",
)  # fmt: skip
MARGIN = 8
"""Frames on each side of a blink that are looked at."""
DEEP = 0.4
"""Least depth of a blink, of the open eye, whose times are told (guess)."""
TIMING = {3: 0.15, 2: 0.35}
"""Standard error of a moment between frames, by level (a scene is exact but for the curve between two frames; lids in the picture: guess)."""
FEWEST = {3: 1, 2: 2}
"""Blinks that have to show it, by level: lids in the picture may be misread on one (measured: twice in 200 blinks at a noise of 0.06, never on two)."""
LOW, HIGH = 0.25, 0.75
"""Parts of a blink's depth between which its speed is taken."""


@dataclass(frozen=True)
class Timed:
    """Moments of one blink of one eye, frames with parts: half shut, half open again; how long it closes and opens, frames for the whole way."""

    closed: float
    opened: float
    closing: float
    opening: float


def shaped(readings: Readings, lids: Lids, limits: Limits) -> Iterator[Finding]:
    """Findings of kinds apart and slower: one of each a character, with the frames of all blinks that it shows on."""
    error = TIMING[3 if lids.actor.level == 3 else 2]
    apart, slower = [], []
    for blink in lids.blinks:
        both = [timed for series in lids.each.values() if (timed := timed_of(series, blink)) is not None]
        if len(both) == 2:
            off = abs(both[0].closed - both[1].closed)
            apart += [(blink, off)] if off - BAR * error > limits["apart"] else []
        if both:
            late = float(np.median([one.closing - one.opening for one in both]))
            slower += [(blink, late)] if late - BAR * error > limits["slower"] else []
    yield from _told(
        readings, lids, apart, "apart", "frames between the two eyes", limits["apart"], APART.basis,
        "eyes shut {frames} apart in the {blink} at {where}", "Bring both lids down on the same frames",
    )  # fmt: skip
    yield from _told(
        readings, lids, slower, "slower", "frames, + when it closes slower than it opens", limits["slower"], SLOWER.basis,
        "lids take {frames} longer to close than to open in the {blink} at {where}", "Close in two frames, and open in three or four",
    )  # fmt: skip


def _told(
    readings: Readings,
    lids: Lids,
    found: Sequence[tuple[Blink, float]],
    kind: str,
    unit: str,
    limit: float,
    basis: str,
    says: str,
    suggest: str,
) -> Iterator[Finding]:
    if len(found) < FEWEST[3 if lids.actor.level == 3 else 2]:
        return
    blinks = [blink for blink, _ in found]
    worst = max(value for _, value in found)
    span = Span(blinks[0].first, blinks[-1].last + 1)
    where = listed([str(readings.numbering.shown(blink.shut)) for blink in blinks[:4]])
    more = f" and {len(blinks) - 4} more" if len(blinks) > 4 else ""
    frames = f"{'up to ' if len(blinks) > 1 else ''}{counted(worst, 'frame', digits=1)}"
    yield Finding(
        check="blink", kind=kind, who=lids.who, span=span, value=round(worst, 1), unit=unit, limit=limit, weight="polish",
        confidence=0.85 if lids.actor.level == 3 else 0.6,
        says=f"{lids.who}'s {says.format(frames=frames, blink='blink' if len(blinks) == 1 else 'blinks', where=where + more)}",
        suggest=suggest, basis=basis, level=lids.actor.level, frames=tuple(blink.shut for blink in blinks), curves=(curve_of(lids, span),),
    )  # fmt: skip


def timed_of(series: Array, blink: Blink) -> Timed | None:
    """Moments of one eye's part in a blink; None where it is not known, or not deep enough. series : opening, [shape=(n_frames,)]"""
    first, stop = max(0, blink.first - MARGIN), min(len(series), blink.last + MARGIN + 1)
    part = series[first:stop]
    if not np.isfinite(part).all():
        return None
    at = blink.shut - first
    low = int(np.argmin(part[max(0, at - 2) : at + 3])) + max(0, at - 2)
    # The lids' rest on each side: the highest that is reached before they come down again.
    before, after = part[: low + 1].max(), part[low:].max()
    least = float(part[low])
    if min(before, after) - least < DEEP:
        return None
    down = [_crossing(part, low, -1, least + share * (before - least)) for share in (LOW, 0.5, HIGH)]
    up = [_crossing(part, low, 1, least + share * (after - least)) for share in (LOW, 0.5, HIGH)]
    if None in down or None in up:
        return None
    known = [float(v) for v in (*down, *up) if v is not None]
    return Timed(known[1] + first, known[4] + first, (known[0] - known[2]) / (HIGH - LOW), (known[5] - known[3]) / (HIGH - LOW))


def _crossing(part: Array, low: int, step: int, height: float) -> float | None:
    """Where the lids pass a height, going from frame `low` in steps of `step`; between frames by a straight line."""
    at = low
    while 0 <= at + step < len(part):
        here, there = float(part[at]), float(part[at + step])
        if here <= height < there:
            return at + step * (height - here) / (there - here)
        at += step
    return None
