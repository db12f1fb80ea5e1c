"""One who stands as still as a photograph: then a mouth that does not speak and a chest that does not breathe are no faults of their own."""

from __future__ import annotations

from shotcrit.checks.finding import Cause
from shotcrit.checks.hold.figure import figure_in
from shotcrit.clock import Span
from shotcrit.readings.bundle import Readings

STANDS = "stands still"
"""What the cause is called (`who` is '' where everything does)."""
MOST = 0.8
"""Part of a stretch that must be still to explain what does not move over it (guess: a short hold does not excuse a long line)."""


def stands(who: str | None, span: Span) -> Cause:
    """The cause that a hold tells. who : None where everything stands"""
    return Cause(STANDS, who or "", span)


def standing(readings: Readings, who: str, span: Span) -> tuple[Cause, ...]:
    """What explains that nothing of `who` moves over `span`: the whole picture repeats, or their figure does. Empty where neither is so."""
    picture = readings.picture
    if picture is None:
        return ()
    found = []
    if float(picture.dead[span.start : span.stop].mean()) >= MOST:
        found.append(stands(None, span))
    for frozen in picture.frozen:
        shared = frozen.span.overlap(span)
        if shared is None or len(shared) < MOST * len(span):
            continue
        figure = figure_in(readings, picture, frozen.span, frozen.box)
        if figure is not None and figure.who == who:
            found.append(stands(who, span))
    return tuple(found)
