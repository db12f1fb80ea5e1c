"""Eyes that do not blink for too long, or blink too often."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

import numpy as np

from shotcrit.checks.about import Limits
from shotcrit.checks.blink.seen import Lids
from shotcrit.checks.finding import Curve, Finding, Limit
from shotcrit.clock import Span
from shotcrit.counted import counted
from shotcrit.readings.bundle import Readings

STARE = Limit(
    "stare_s", 8.0, "s", "people at rest blink 17 times a minute, people who talk 26 times (Bentivoglio et al. 1997, Mov. Disord. 12:1028-1034); "
    "calculated: by chance one gap in ten of people at rest is as long; guess: that one in ten",
    "How long eyes that are seen may stay open without a blink.",
)  # fmt: skip
OFTEN = Limit(
    "often", 60.0, "a minute", "people who talk blink 26 times a minute (Bentivoglio et al. 1997, Mov. Disord. 12:1028-1034); guess: twice that and more",
    "How often eyes may blink.",
)  # fmt: skip
SEEN = 0.5
"""Part of a stare on which the audience sees the eyes, at least (guess)."""
FEWEST = 5
"""Blinks that a rate is told by (guess: fewer may be one flutter)."""


def stares(readings: Readings, lids: Lids, limits: Limits) -> Iterator[Finding]:
    """Findings of kind stare. value: seconds without a blink."""
    for stretch in lids.stretches():
        edges = [stretch.start - 1, *(i for b in lids.blinks_in(stretch) for i in (b.first, b.last)), stretch.stop]
        for before, after in zip(edges[::2], edges[1::2], strict=True):
            gap = Span(before + 1, max(after, before + 1))
            seconds = len(gap) / lids.rate
            if seconds > limits["stare_s"] and lids.visible[gap.start : gap.stop].mean() >= SEEN:
                yield _stare(readings, lids, gap, seconds, limits)


def _stare(readings: Readings, lids: Lids, gap: Span, seconds: float, limits: Limits) -> Finding:
    return Finding(
        check="blink", kind="stare", who=lids.who, span=gap, value=round(seconds, 1), unit="s without a blink", limit=limits["stare_s"],
        weight="polish", confidence=0.6 if lids.actor.level == 3 else 0.5,
        says=f"{lids.who} doesn't blink for {counted(seconds, 'second', digits=1)}, {readings.numbering.text(gap)}",
        suggest="Let the lids come down where a thought changes, or as the head turns", basis=STARE.basis, level=lids.actor.level,
        curves=(curve_of(lids, gap),),
    )  # fmt: skip


def flutters(readings: Readings, lids: Lids, limits: Limits) -> Iterator[Finding]:
    """Findings of kind often. value: blinks a minute, from the first to the last of those that come too often."""
    for stretch in lids.stretches():
        own = lids.blinks_in(stretch)
        gaps = [60 * lids.rate / (b.shut - a.shut) for a, b in pairwise(own)]
        for group in _groups(gaps, limits["often"]):
            blinks = own[group.start : group.stop + 1]
            if len(blinks) < FEWEST:
                continue
            span = Span(blinks[0].first, blinks[-1].last + 1)
            rate = 60 * lids.rate * (len(blinks) - 1) / (blinks[-1].shut - blinks[0].shut)
            yield Finding(
                check="blink", kind="often", who=lids.who, span=span, value=round(rate), unit="blinks a minute", limit=limits["often"], weight="polish",
                confidence=0.8 if lids.actor.level == 3 else 0.65,
                says=f"{lids.who} blinks {len(blinks)} times over {readings.numbering.text(span)}",
                suggest="Keep the blinks that carry a thought, and take the others out", basis=OFTEN.basis, level=lids.actor.level,
                frames=tuple(b.shut for b in blinks), curves=(curve_of(lids, span),),
            )  # fmt: skip


def _groups(rates: list[float], limit: float) -> Iterator[Span]:
    start = None
    for i, rate in enumerate([*rates, 0.0]):
        if rate > limit and start is None:
            start = i
        elif rate <= limit and start is not None:
            yield Span(start, i)
            start = None


def curve_of(lids: Lids, span: Span) -> Curve:
    """How far the eye is open that is open further."""
    return Curve("lids", "of the open eye", span.start, tuple(np.asarray(lids.open[span.start : span.stop], float).tolist()))
