"""Two faces on the sides of a cut that should meet.

Where a scene knows all places each look is held against the other's place, and it is known whose is off. In the picture alone only two things can be told.
The side: one looks to screen right, the other to screen left, wherever the cameras stand on their side of the line; two that look to one side are one
finding, crossed_line. And the height, one up as the other down, if both cameras tilt alike, which accuses the pair. How far to the side each looks says
nothing: cameras stand nearer to the line and further from it as they like.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from shotcrit.checks.about import Limits
from shotcrit.checks.cut.faces import Face
from shotcrit.checks.finding import Cause, Finding, Stroke, pair_of
from shotcrit.checks.sure import about, as_sure, beyond
from shotcrit.clock import Span
from shotcrit.geometry.cameras import project
from shotcrit.geometry.gaze import CONE_OUTER_DEG, Miss, miss
from shotcrit.readings.bundle import Readings
from shotcrit.readings.looks.space import lens_of, target_of
from shotcrit.readings.looks.wanted import ACROSS_CUT_DEG, CAMERAS_ALIKE

MEET_BASIS = (
    "Arijon (1976, Grammar of the Film Language, ch. 4-6, second hand): one looks screen right and down, the other answers screen left and up; "
    "guess: the size, above the 2 degrees that are seen"
)
EACH_OTHER = "they look at each other"
BY_HEAD = "the eyes go where the head points"
BY_SIDE = "the eyes go where the face is turned"
SIDE, HEIGHT, SIDES = "side of the look", "height of the look", "sides of the screen"
"""Causes, see Cause: of one look, of one look, of a cut."""
RAY = 0.3
"""Length of a drawn look, as a share of the picture's width (drawing only)."""
UNIT = "degrees that the two looks miss each other"


@dataclass(frozen=True)
class Cut:
    """A cut and the frames just before and after it, each within its shot. first : first frame of the new shot."""

    first: int
    before: Span
    after: Span

    @property
    def span(self) -> Span:
        """The last frame before the cut and the first after it."""
        return Span(self.first - 1, self.first + 1)


@dataclass(frozen=True)
class Meeting:
    """one : before the cut, other : after it; told : whether the cast says that they look at each other"""

    readings: Readings
    cut: Cut
    one: Face
    other: Face
    told: bool

    @property
    def faces(self) -> tuple[Face, Face]:
        return self.one, self.other

    @property
    def rests_on(self) -> tuple[str, ...]:
        """What any judgement of it takes for granted."""
        by = {"head": BY_HEAD, "side of the face": BY_SIDE}
        return tuple(dict.fromkeys([*(() if self.told else (EACH_OTHER,)), *(by[f.by] for f in self.faces if f.by in by)]))

    @property
    def at(self) -> int:
        """The cut's frame as people count."""
        return self.readings.numbering.shown(self.cut.first)

    def strokes(self) -> tuple[Stroke, ...]:
        return tuple(s for face in self.faces if (s := face_stroke(self.readings, face)) is not None)

    def causes(self, *what: str) -> tuple[Cause, ...]:
        return tuple(
            Cause(w, face.who, span) for w in what for face, span in zip(self.faces, (self.cut.before, self.cut.after), strict=True)
        )


def exact_miss(meeting: Meeting, limits: Limits) -> Iterator[Finding]:
    """Of a scene: the worse of the two misses against the other's known place, as its own camera sees it."""
    misses = []
    for face, at in (meeting.faces, meeting.faces[::-1]):
        spots = target_of(meeting.readings, at.who)
        if spots is None or not np.isfinite(spots[0][face.frame]).all():
            return
        way = spots[0][face.frame] - face.origin
        misses.append(miss(face.direction, way / np.linalg.norm(way)))
    worse = misses[1].total > misses[0].total
    gap, who, partner = misses[worse], meeting.faces[worse].who, meeting.faces[not worse].who
    if not beyond(gap.total, limits["meet_deg"], 0.0):
        return
    what = [name for name, size in ((HEIGHT, gap.up), (SIDE, gap.right)) if abs(size) > 0.5 * max(abs(gap.up), abs(gap.right))]
    yield Finding(
        "cut", "faces_do_not_meet", who, meeting.cut.span, as_sure(gap.total, 0.0), UNIT, limits["meet_deg"], "polish", 0.9,
        f"{who} doesn't meet {partner}'s eyes across the cut to {meeting.at}: {_off(gap)}", f"Turn {who}'s eyes {_back(gap)}", MEET_BASIS, level=3,
        strokes=meeting.strokes(), rests_on=meeting.rests_on, causes=tuple(c for c in meeting.causes(*what) if c.who == who),
    )  # fmt: skip


def _parts(gap: Miss) -> list[tuple[str, float]]:
    both = sorted((("up", gap.up), ("right", gap.right)), key=lambda part: -abs(part[1]))
    return [part for part in both if abs(part[1]) >= 1.0] or both[:1]


def _off(gap: Miss) -> str:
    """'9 degrees too high and 2 degrees too far to screen left'."""
    ways = {"up": ("too high", "too low"), "right": ("too far to screen right", "too far to screen left")}
    return " and ".join(f"{about(size, 0.0, 'degree')} {ways[part][size < 0]}" for part, size in _parts(gap))


def _back(gap: Miss) -> str:
    ways = {"up": ("down", "up"), "right": ("to screen left", "to screen right")}
    return " and ".join(f"{ways[part][size < 0]} {about(size, 0.0, 'degree')}" for part, size in _parts(gap))


def mirrored(meeting: Meeting, limits: Limits) -> Iterator[Finding]:
    """Of the picture alone: crossed_line where both look to one side of the screen, else faces_do_not_meet where their heights do not answer each other.

    Nothing for a point of view: one of them looks at the lens.
    """
    if any(face.off_lens_deg < CONE_OUTER_DEG + 2 * min(face.error_deg, 1.0) for face in meeting.faces):
        return
    one, other = meeting.faces
    sided = [beyond(f.side_deg, limits["neutral_deg"], f.error_deg) or f.by == "side of the face" for f in meeting.faces]
    if all(sided) and one.side_deg * other.side_deg > 0:
        yield _one_side(meeting, limits)
        return
    height, error = one.elevation + other.elevation, float(np.hypot(np.hypot(one.error_deg, other.error_deg), ACROSS_CUT_DEG))
    if beyond(height, limits["meet_deg"], error):
        yield _heights(meeting, height, error, limits)


def _one_side(meeting: Meeting, limits: Limits) -> Finding:
    one, other = meeting.faces
    side = "right" if one.side_deg > 0 else "left"
    nearer = min(meeting.faces, key=lambda face: abs(face.side_deg))
    return Finding(
        "cut", "crossed_line", None, meeting.cut.span, as_sure(abs(nearer.side_deg), nearer.error_deg), "degrees to one side that both look at least",
        limits["neutral_deg"], "polish", 0.7,
        f"{one.who} and {other.who} both look to screen {side} across the cut to {meeting.at}: the camera crossed the line, or one of them looks away",
        f"Shoot one of them from the other side of the line, or turn that look to screen {'left' if side == 'right' else 'right'}", MEET_BASIS, level=2,
        strokes=meeting.strokes(), rests_on=meeting.rests_on, causes=(Cause(SIDES, "", meeting.cut.span), *meeting.causes(SIDE)),
    )  # fmt: skip


def _heights(meeting: Meeting, height: float, error: float, limits: Limits) -> Finding:
    one, other = (face.who for face in meeting.faces)
    much = about(height, error, "degree")
    way = "down" if height > 0 else "up"
    return Finding(
        "cut", "faces_do_not_meet", pair_of(one, other), meeting.cut.span, as_sure(abs(height), error), UNIT, limits["meet_deg"], "polish", 0.6,
        f"{one}'s and {other}'s eyes don't meet across the cut to {meeting.at}: together they look {much or 'clearly'} too {'high' if height > 0 else 'low'}",
        f"Bring one of the two looks {way}; if it is a point of view, aim it into the lens", MEET_BASIS, level=2,
        strokes=meeting.strokes(), rests_on=(*meeting.rests_on, CAMERAS_ALIKE), causes=meeting.causes(HEIGHT),
    )  # fmt: skip


def face_stroke(readings: Readings, face: Face) -> Stroke | None:
    """The look as it is, from between the eyes along its direction on the picture."""
    if not (np.isfinite(face.origin).all() and np.isfinite(face.direction).all()) or face.origin[2] <= 0:
        return None
    width, height = readings.movie.width or 1, readings.movie.height or 1
    start = project(face.origin, lens_of(readings, face.frame)) / (width, height)
    end = start + RAY * face.direction[:2] * np.array([1.0, width / height])
    return Stroke(face.frame, "is", ((float(start[0]), float(start[1])), (float(end[0]), float(end[1]))), face.who)
