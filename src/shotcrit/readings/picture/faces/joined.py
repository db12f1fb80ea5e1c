"""A mouth that was read twice: by the points of a found face, and by the looks of the frames on which a person confirmed or placed its marks.

The two share nothing but the picture, so their errors differ, and what they disagree by says how far each may be off.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

import numpy as np
import numpy.typing as npt

from shotcrit.readings.acting import Acting, MarkTrack, Mouth
from shotcrit.readings.cast import MOUTH_MARKS
from shotcrit.readings.faces import FoundFace

Floats = npt.NDArray[np.float32]

SAME = 0.12
"""Of the face's size; marks that lie so near to the points of a found face are on that face (points lie within 0.06 of the truth where they are
accepted, and a person may place a mark as far off again)."""
SCALES = (0.5, 2.0)
"""Of what a mark says over what the points say, beyond which the two do not speak of one mouth (guess)."""
LEAST = 0.1
"""Opening, of the mouth's width, from which on a marked frame tells the scale of the points (guess: twice their noise)."""


def joined_mouth(actor: Acting, faces: Sequence[FoundFace]) -> Acting:
    """The actor with the points of its confirmed faces taken in: mean of both readings, with what they disagree by in the error. Others stay as they are."""
    own = [face for face in faces if face.who == actor.who and _is_confirmed(face, actor)]
    if actor.mouth is None or not own:
        return actor
    mouth = actor.mouth
    for face in own:
        mouth = _joined(mouth, face, sorted(_marked(actor)))
    return replace(actor, mouth=mouth)


def _marked(actor: Acting) -> set[int]:
    """Frames on which a person placed all marks of the mouth."""
    tracks = [actor.marks.get(name) for name in MOUTH_MARKS]
    return set.intersection(*(set(track.placed) if track is not None else set() for track in tracks))


def _is_confirmed(face: FoundFace, actor: Acting) -> bool:
    """Whether a frame that the face proposed carries marks of the actor's, and they lie on this face."""
    frames = _marked(actor) & set(face.worth.values())
    return any(max(_away(face, actor.marks, frame)) <= SAME for frame in frames)


def _away(face: FoundFace, marks: Mapping[str, MarkTrack], frame: int) -> Iterator[float]:
    """How far each of the mouth's marks lies from the point of its name, parts of the face's size, as far as height and width of the picture are alike."""
    at = frame - face.span.start
    for name in MOUTH_MARKS:
        x, y = marks[name].xy[frame] - face.points[name][at]
        yield float(np.hypot(x, y)) / max(float(face.size[at]), 1e-9)


def _joined(mouth: Mouth, face: FoundFace, marked: Sequence[int]) -> Mouth:
    here = slice(face.span.start, face.span.stop)
    placed = np.array([i - face.span.start for i in marked if i in face.span], np.intp)
    opening, opening_error = _mean(
        (mouth.opening[here], mouth.opening_error[here]), (face.mouth.opening, face.mouth.opening_error), placed, LEAST
    )
    width, width_error = _mean((mouth.width[here], mouth.width_error[here]), (face.mouth.width, face.mouth.width_error), placed, 0.0)
    meets = np.where(np.isfinite(face.mouth.meets), (mouth.meets[here] + face.mouth.meets) / 2, mouth.meets[here])
    new = {name: getattr(mouth, name).copy() for name in ("opening", "width", "opening_error", "width_error", "meets")}
    parts = {"opening": opening, "width": width, "opening_error": opening_error, "width_error": width_error, "meets": meets}
    for name, part in parts.items():
        new[name][here] = part
        new[name][list(marked)] = getattr(mouth, name)[list(marked)]
    return replace(mouth, **new)


def _mean(marks: tuple[Floats, Floats], points: tuple[Floats, Floats], placed: npt.NDArray[np.intp], least: float) -> tuple[Floats, Floats]:
    """Mean and error of two readings, each (values, errors), the second in the first's scale; where one is unknown the first as it is.

    placed : where the first is what a person marked; least : what a marked value must reach to tell the scale
    """
    scale = _scale(marks[0][placed], points[0][placed], least)
    other, other_error = scale * points[0], scale * points[1]
    both = np.isfinite(marks[0]) & np.isfinite(other)
    mean = np.where(both, (marks[0] + other) / 2, marks[0])
    error = np.maximum(np.hypot(marks[1], other_error) / 2, np.abs(marks[0] - other) / 2)
    return mean.astype(np.float32), np.where(both, error, marks[1]).astype(np.float32)


def _scale(marked: Floats, seen: Floats, least: float) -> float:
    telling = np.isfinite(marked) & np.isfinite(seen) & (marked > least) & (seen > least)
    ratio = float((marked[telling] * seen[telling]).sum() / (seen[telling] ** 2).sum()) if telling.any() else 1.0
    return ratio if SCALES[0] <= ratio <= SCALES[1] else 1.0
