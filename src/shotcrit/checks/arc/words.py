"""What an odd way is called, what to try, and how it is drawn: the way with a tick a frame, as it should be in dashes, the frame that is off as a vector."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from shotcrit.checks.arc.events import Event
from shotcrit.checks.arc.grouped import Fault
from shotcrit.checks.finding import Curve, Stroke
from shotcrit.checks.parts import listed, part_name, whose
from shotcrit.checks.sure import about
from shotcrit.clock import Numbering, Span
from shotcrit.counted import counted
from shotcrit.readings.bundle import Readings
from shotcrit.readings.motion.paths import Path

DRAWN = 8
"""Frames each way that a way is drawn with (guess: a third of a second)."""
NAMED = 3
"""Parts that are named in a sentence; more are counted."""


def subject(fault: Fault) -> str:
    """'Bram's left hand', 'Bram's left hand and left shoulder', 'Bram's left hand and 4 more of his marks'."""
    lead = fault.leads.path
    parts = list(dict.fromkeys(part_name(e.path.mark) for e in sorted(fault.events, key=lambda e: -e.px) if e.path.who == lead.who))
    if len(parts) > NAMED:
        parts = [parts[0], f"{len(parts) - 1} other parts with it"]
    return f"{whose(lead.who)}'s {listed(parts)}"


def says(fault: Fault, numbering: Numbering) -> tuple[str, str]:
    """(what is wrong, what to try)."""
    event, who = fault.leads, subject(fault)
    many = len({part_name(e.path.mark) for e in fault.events if e.path.who == event.path.who}) > 1
    at, span = numbering.shown(event.span.start), numbering.text(event.span)
    size = _size(event) or "clearly"
    if event.kind == "pop":
        it = "them" if many else "it"
        path = "their paths" if many else "its path"
        return f"{who} {'jump' if many else 'jumps'} {size} off {path} on {at}", f"Put {it} back between {at - 1} and {at + 1}"
    if event.kind == "hitch":
        stop = "stop" if many else "stops"
        return (
            f"{who} {stop} for {counted(len(event.span), 'frame')} on {span} in the middle of a move of {size} a frame",
            f"Space {'them' if many else 'it'} evenly from {event.span.start - 1 + at - event.span.start} to {at + len(event.span)}",
        )
    if event.kind == "kink":
        return (
            f"{who} {'turn' if many else 'turns'} a corner of {event.degrees:.0f} degrees on {at} without slowing down",
            f"Round the arc off over {at - 2} to {at + 2}, or slow down into the turn",
        )
    if event.kind == "no_ease":
        begins = "start" if event.starts else "stop"
        what = f"{who} {begins if many else begins + 's'} with {100 * event.share:.0f} % of {'their' if many else 'its'} full speed"
        if event.starts:
            return f"{what} on {at}, from rest", f"Ease out of the rest over two or three frames from {at - 1} on"
        return f"{what} on {at}, and rests on the next frame", f"Let it settle over two or three frames after {at}"
    shake = "shake" if many else "shakes"
    return f"{who} {shake} by {size} from frame to frame over {span}", "Thin the keys out there, and let the curves run smooth between them"


def _size(event: Event) -> str:
    """'about 9 px', as surely as it is known; '' where it is too unsure for a number."""
    return about(event.px, event.error, "px").replace("pxs", "px")


def spacing(fault: Fault, limit: float) -> Curve:
    """How far the leading mark goes on each frame, round the fault."""
    path = fault.leads.path
    first, stop = _round(path, fault.leads.span)
    steps = np.concatenate([[np.nan], path.steps * path.scale])[first:stop]
    return Curve(f"spacing of {part_name(path.mark)}", "px a frame", path.span.start + first, tuple(float(step) for step in steps), ())


def drawn(readings: Readings, fault: Fault) -> tuple[Stroke, ...]:
    """On every frame of the fault: the way with its ticks; for a frame off it, where it should be and how far off it is."""
    found: list[Stroke] = []
    parts = [e for e in sorted(fault.events, key=lambda e: -e.px) if e.path.who == fault.leads.path.who][:NAMED]
    for event in parts:
        path = event.path
        size = (readings.movie.width or 1, readings.movie.height or 1)
        first, stop = _round(path, event.span)
        way = path.px[first:stop].copy()
        frame = event.span.start
        if event.kind == "pop":
            here = frame - path.span.start
            right = path.px[here] - np.array(event.off)
            way[here - first] = right
            found.append(Stroke(frame, "slip", _points(np.array([right, path.px[here]]), size), _size(event).removeprefix("about ")))
        found.insert(0, Stroke(frame, "path", _points(way, size), ""))
    return tuple(found)


def _round(path: Path, span: Span) -> tuple[int, int]:
    """Places in the path from DRAWN frames before a span to as many after."""
    return max(0, span.start - path.span.start - DRAWN), min(len(path.at), span.stop - path.span.start + DRAWN)


def _points(px: npt.NDArray[np.float64], size: tuple[int, int]) -> tuple[tuple[float, float], ...]:
    return tuple((float(x) / size[0], float(y) / size[1]) for x, y in px)


def amount(event: Event) -> tuple[float, str]:
    """The value of a finding, and its unit."""
    if event.kind == "hitch":
        return round(event.share, 2), "of the speed around it"
    if event.kind == "kink":
        return round(event.degrees, 0), "degrees"
    if event.kind == "no_ease":
        return round(event.share, 2), "of full speed"
    return round(event.px, 1), "px of the full-size frame"
