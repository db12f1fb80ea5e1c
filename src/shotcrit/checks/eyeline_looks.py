"""Looks as they are judged: a stretch of frames within one shot, with the wanted direction of every frame and how sure it is."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from shotcrit.checks.eyeline_space import NO_DEPTH, EyePair, eyes_of, in_picture, lens_of, target_of
from shotcrit.clock import Span
from shotcrit.geometry.cameras import pixel_rays
from shotcrit.geometry.gaze import azimuth_elevation, from_azimuth_elevation
from shotcrit.readings.acting import Acting
from shotcrit.readings.bundle import Readings
from shotcrit.readings.cast import LookAt, Point

Array = npt.NDArray[np.float64]

ACROSS_CUT_DEG = 4.0
"""Error of a direction that mirrors the other side of a cut (guess: cameras seldom tilt and stand quite alike)."""
DRAWN_DEG = 3.0
"""Error of a target that is a point of the picture, whose depth nobody knows (guess)."""


@dataclass(frozen=True)
class JudgedLook:
    """One look in one shot.

    wanted : float64 [shape=(n_frames, 3)] unit, camera; nan where the target's direction is unknown
    wanted_error_deg : float64 [shape=(n_frames,)] error of the wanted direction itself
    distance_m : to the target, nan where unknown (level 3 only in metres)
    assumes : what the direction rests on, a phrase, or ''
    """

    who: str
    at: str
    actor: Acting
    eyes: EyePair
    span: Span
    wanted: Array
    wanted_error_deg: Array
    distance_m: Array
    assumes: str = ""
    depth_guessed: bool = False
    """Whether wanted_error_deg comes from a depth told by the size of heads."""


@dataclass(frozen=True)
class Unknown:
    """A look that cannot be judged, and what it needs."""

    who: str
    needs: str


def shots(readings: Readings) -> list[Span]:
    """The shots between cuts."""
    cuts = [c for c in (readings.picture.cuts if readings.picture else ()) if 0 < c < len(readings.clock)]
    edges = [0, *cuts, len(readings.clock)]
    return [Span(a, b) for a, b in pairwise(edges)]


def look_span(readings: Readings, look: LookAt) -> Span | None:
    """The look's frames as indices; the whole shot where none are given; None when it lies outside the movie."""
    first = 0 if look.first is None else look.first - readings.movie.first_frame
    last = len(readings.clock) - 1 if look.last is None else look.last - readings.movie.first_frame
    first, last = max(0, first), min(len(readings.clock) - 1, last)
    return Span(first, last + 1) if first <= last else None


def judged_looks(readings: Readings) -> Iterator[JudgedLook | Unknown]:
    """Every look of the cast, cut into shots."""
    looks = readings.cast.looks if readings.cast else ()
    for look in looks:
        actor = next((a for a in sorted(readings.acting, key=lambda a: -a.level) if a.who == look.who and a.gaze), None)
        eyes = eyes_of(readings, actor) if actor is not None else None
        whole = look_span(readings, look)
        if actor is None or eyes is None:
            yield Unknown(look.who, "marks for both eyes (centre, edge, iris), or a scene with eye nodes")
            continue
        if whole is None:
            yield Unknown(look.who, "a look inside the shot's frames")
            continue
        for shot in shots(readings):
            part = whole.overlap(shot)
            if part is not None and np.isfinite(eyes.direction[part.start : part.stop]).any():
                yield _judged(readings, look, actor, eyes, part)


def _judged(readings: Readings, look: LookAt, actor: Acting, eyes: EyePair, span: Span) -> JudgedLook | Unknown:
    at = look.at
    if isinstance(at, Point):
        return _at_point(readings, actor, eyes, span, at)
    if at == "camera":
        wanted = -eyes.origin / np.linalg.norm(eyes.origin, axis=1, keepdims=True)
        zero = np.zeros(len(wanted))
        return JudgedLook(look.who, at, actor, eyes, span, wanted, zero, np.linalg.norm(eyes.origin, axis=1))
    target = target_of(readings, at)
    inside = slice(span.start, span.stop)
    if target is not None:
        spots, depth_error = target
        exact = eyes.level == 3 and bool((depth_error == 0).all())
        if exact or in_picture(readings, spots)[inside].any():
            if (depth_error == NO_DEPTH).all():
                # A thing without a head, followed in the picture: put on its ray as far away as the eyes are.
                spots = spots / spots[:, 2:] * eyes.origin[:, 2:]
            return _at_spot(look.who, at, actor, eyes, span, spots, depth_error)
    mirrored = _across_the_cut(readings, look.who, at, span)
    if mirrored is None:
        return Unknown(look.who, f"{at} in the picture, or {at}'s look back on the other side of a cut, or a drawn target")
    n = len(eyes.origin)
    return JudgedLook(
        look.who, at, actor, eyes, span, np.repeat(mirrored[0][None], n, axis=0), np.full(n, ACROSS_CUT_DEG + mirrored[1]), np.full(n, np.nan),
        "that the cameras on both sides of the cut stand and tilt alike",
    )  # fmt: skip


def _at_spot(who: str, at: str, actor: Acting, eyes: EyePair, span: Span, spots: Array, depth_error: Array) -> JudgedLook:
    way = spots - eyes.origin
    distance = np.linalg.norm(way, axis=1)
    with np.errstate(invalid="ignore", divide="ignore"):
        wanted = way / distance[:, None]
        # A depth that is wrong by a share s of itself turns the way by about s * depth / distance, at right angles to the picture.
        wobble = np.degrees(np.arctan(depth_error * np.abs(spots[:, 2]) * np.sqrt(1 - wanted[:, 2] ** 2) / distance))
    exact = eyes.level == 3 and bool((depth_error == 0).all())
    unknown = np.full(len(distance), np.nan)
    return JudgedLook(
        who, at, actor, eyes, span, wanted, np.nan_to_num(wobble), distance if exact else unknown,
        "" if exact else "that both heads are about equally tall", depth_guessed=not exact,
    )  # fmt: skip


def _at_point(readings: Readings, actor: Acting, eyes: EyePair, span: Span, at: Point) -> JudgedLook:
    """A point of the picture: taken as deep in the scene as the eyes, which is said."""
    spots = np.empty_like(eyes.origin)
    for frame, origin in enumerate(eyes.origin):
        lens = lens_of(readings, frame)
        ray = pixel_rays(np.array([at.x * lens.width, at.y * lens.height]), lens)
        spots[frame] = ray / ray[2] * origin[2]
    way = spots - eyes.origin
    with np.errstate(invalid="ignore", divide="ignore"):
        wanted = way / np.linalg.norm(way, axis=1, keepdims=True)
    n = len(wanted)
    return JudgedLook(
        actor.who, "the drawn point", actor, eyes, span, wanted, np.full(n, DRAWN_DEG), np.full(n, np.nan),
        "that the drawn point is as far from the lens as the eyes",
    )  # fmt: skip


def _across_the_cut(readings: Readings, who: str, at: str, span: Span) -> tuple[Array, float] | None:
    """What `at`'s look back at `who` in the nearest other shot asks for: the mirrored direction, and its own error in degrees."""
    back = next((look for look in (readings.cast.looks if readings.cast else ()) if look.who == at and look.at == who), None)
    actor = next((a for a in sorted(readings.acting, key=lambda a: -a.level) if a.who == at and a.gaze), None)
    if back is None or actor is None:
        return None
    eyes, whole = eyes_of(readings, actor), look_span(readings, back)
    if eyes is None or whole is None:
        return None
    parts = [p for shot in shots(readings) if shot.overlap(span) is None and (p := shot.overlap(whole)) is not None]
    parts = [p for p in parts if np.isfinite(eyes.direction[p.start : p.stop]).all(axis=1).any()]
    if not parts:
        return None
    nearest = min(parts, key=lambda p: p.gap(span))
    azimuth, elevation = azimuth_elevation(eyes.direction[nearest.start : nearest.stop])
    error = float(np.nanmedian(eyes.error_deg[nearest.start : nearest.stop]))
    return from_azimuth_elevation(-float(np.nanmedian(azimuth)), -float(np.nanmedian(elevation))), error
