"""Where in the picture people and their props are, as far as marks and faces tell. Wide rather than narrow: what lies in nobody's box is nobody's."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
import numpy.typing as npt

from shotcrit.clock import Span
from shotcrit.readings.acting import Acting
from shotcrit.readings.bundle import Readings
from shotcrit.readings.faces import FoundFace
from shotcrit.readings.seen import Box

Floats = npt.NDArray[np.float32]

ROUND_MARKS = 0.75
"""Of the marks' width, added on each side: hair, sleeves and skirts reach beyond all marks (guess)."""
SHOULDERS = 1.5
"""Sizes of a face to each side of its middle: shoulders are three heads across in design books (common practice, no source)."""
HAIR = 0.9
"""Sizes of a face above its middle (guess)."""
NARROWEST = 0.04
"""Of the picture's width, of what has one mark alone (guess)."""


def people_at(readings: Readings, span: Span) -> Mapping[str, tuple[Box, float]]:
    """The box of everybody and every prop that is seen within frames `span`, by name, and the level that tells it.

    A face that is nobody's yet is called 'face 3'. A body hangs below its head: boxes of characters reach down to the picture's lower edge.
    """
    found: dict[str, tuple[Box, float]] = {}
    for face in readings.faces:
        box = _of_face(readings, face, span)
        if box is not None:
            _add(found, face.who or f"face {face.id}", box, 1.5)
    characters = {person.name for person in readings.cast.characters} if readings.cast else set()
    for actor in readings.acting:
        box = _of_marks(readings, actor, span, body=actor.who in characters)
        if box is not None:
            _add(found, actor.who, box, actor.level)
    return found


def _add(found: dict[str, tuple[Box, float]], who: str, box: Box, level: float) -> None:
    """Two boxes of one person are one around both."""
    if who in found:
        other, known = found[who]
        box = Box(min(box.left, other.left), min(box.top, other.top), max(box.right, other.right), max(box.bottom, other.bottom))
        level = max(level, known)
    found[who] = box, level


def _of_face(readings: Readings, face: FoundFace, span: Span) -> Box | None:
    both = face.span.overlap(span)
    if both is None:
        return None
    rows = slice(both.start - face.span.start, both.stop - face.span.start)
    middle, size = face.middle[rows], face.size[rows]
    seen = np.isfinite(size) & np.isfinite(middle).all(axis=1)
    if not seen.any():
        return None
    x, y, size = middle[seen, 0], middle[seen, 1], size[seen]
    return _clipped((x - SHOULDERS * size).min(), (y - HAIR * size * _aspect(readings)).min(), (x + SHOULDERS * size).max(), 1.0)


def _of_marks(readings: Readings, actor: Acting, span: Span, *, body: bool) -> Box | None:
    places = [track.xy[span.start : span.stop] for track in actor.marks.values()]
    xy = np.concatenate([np.zeros((0, 2), np.float32), *places])
    xy = xy[np.isfinite(xy).all(axis=1)]
    xy = xy[((xy >= 0) & (xy <= 1)).all(axis=1)]
    if not len(xy):
        return None
    (left, top), (right, bottom) = xy.min(axis=0), xy.max(axis=0)
    aside = ROUND_MARKS * max(right - left, NARROWEST)
    above = aside * _aspect(readings)
    return _clipped(left - aside, top - above, right + aside, 1.0 if body else bottom + above)


def _aspect(readings: Readings) -> float:
    """Width of the picture over its height."""
    return (readings.movie.width or 16) / (readings.movie.height or 9)


def _clipped(left: float, top: float, right: float, bottom: float) -> Box:
    return Box(*(float(np.clip(edge, 0, 1)) for edge in (left, top, right, bottom)))
