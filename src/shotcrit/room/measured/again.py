"""Readings as people told them since: looks and contacts, how frames are counted and which count, how it is made."""

from __future__ import annotations

from dataclasses import replace

from shotcrit.clock import Span
from shotcrit.crit.records import Take
from shotcrit.readings.bundle import Readings
from shotcrit.readings.cast import Cast


def as_told(readings: Readings, take: Take) -> Readings:
    """The readings with what people said of the take since: its cast, how frames are counted and which count, how it is made. The same when nothing was."""
    said = _as_said(readings.cast, take.cast)
    counts = None if take.counts is None else Span(take.counts.first, take.counts.last + 1)
    if (said, take.first_frame, take.medium, counts) == (readings.cast, readings.movie.first_frame, readings.medium, readings.counts):
        return readings
    return replace(readings, cast=said, medium=take.medium, counts=counts, movie=replace(readings.movie, first_frame=take.first_frame))


def _as_said(measured: Cast | None, now: Cast) -> Cast | None:
    """The cast to judge by: looks and contacts as they are now. Marks that were placed since count once they are followed."""
    old = measured or Cast()
    if (old.looks, old.contacts) == (now.looks, now.contacts):
        return measured
    names = {part.name for part in old.marked}
    if names >= {part.name for part in now.marked}:
        return old.model_copy(update={"looks": now.looks, "contacts": now.contacts})
    return now
