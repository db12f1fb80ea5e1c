"""Looks as they are judged: a stretch of frames within one shot, with the wanted direction of every frame and how sure it is."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from shotcrit.clock import Span
from shotcrit.geometry.cameras import pixel_rays
from shotcrit.geometry.eyeball import ASSUMED_FOV, ASSUMED_FOV_ERROR
from shotcrit.geometry.gaze import azimuth_elevation, from_azimuth_elevation
from shotcrit.readings.acting import Acting
from shotcrit.readings.bundle import Readings
from shotcrit.readings.cast import LookAt, Point, Side
from shotcrit.readings.looks.rests import resting
from shotcrit.readings.looks.space import FACE_ERROR, HEAD_M, NO_DEPTH, EyePair, eyes_of, in_picture, lens_of, target_of
from shotcrit.readings.shots import shots_of

Array = npt.NDArray[np.float64]

ACROSS_CUT_DEG = 10.0
"""Error in height of a direction that mirrors the other side of a cut (guess: two cameras' tilts differ by 10 degrees; one looks down on the shorter, one up
at the taller)."""
ACROSS_CUT_SIDE_DEG = 25.0
"""Error to the side of the same (guess: one camera often stands much nearer to the line between two people than the other)."""
CAMERAS_ALIKE = "both cameras tilt alike"
HEADS_ALIKE = "both heads are equally tall"
USUAL_LENS = "the lens is an ordinary one"
AS_DEEP = "the drawn point is as far away as the eyes"
ROUGHLY: dict[Side, tuple[float, float]] = {"left": (-45.0, 0.0), "right": (45.0, 0.0), "up": (0.0, 45.0), "down": (0.0, -45.0)}
"""Azimuth and elevation of a partner who is said to be off the picture to a side, degrees (guess: halfway between the lens and the picture's plane)."""
ROUGH_DEG = 22.5
"""Error of the same: from the lens to the plane is two of these to either side (guess)."""
DRAWN_DEG = 3.0
"""Error of a target that is drawn as a point of the picture, as the audience sees it (guess: about how well a person points with a pen)."""
LEVEL = np.array([0.0, 1.0, 0.0])
"""Normal of the plane in which a look turns to the sides and not in height, camera."""
LENS_SHARE = ASSUMED_FOV_ERROR / ASSUMED_FOV
"""Relative error of the focal length where no camera is known."""
APART_DEG = 2.0
"""Nearer than this in the picture, eyes and target lie in no plane that could be told (guess)."""


@dataclass(frozen=True)
class JudgedLook:
    """One look in one shot.

    wanted : float64 [shape=(n_frames, 3)] unit, camera; nan where the target's direction is unknown
    wanted_error_deg : float64 [shape=(n_frames,)] error of the wanted direction itself, within the plane of `normal`
    across_deg : float64 [shape=(n_frames,)] its error out of that plane; normal : float64 [shape=(n_frames, 3)] unit, camera
    distance_m : to the target, nan where unknown; at level 2 in a unit in which every head is HEAD_M tall
    rests_on : what the direction takes for granted, each to be read after 'if'; see Finding
    across_cut : whether it mirrors the other's look on the other side of a cut: it then says nothing about this one alone
    side : roughly where a target off the picture is said to be, where nothing else tells its direction; `wanted` then only points that way
    """

    who: str
    at: str
    actor: Acting
    eyes: EyePair
    span: Span
    wanted: Array
    wanted_error_deg: Array
    across_deg: Array
    normal: Array
    distance_m: Array
    rests_on: tuple[str, ...] = ()
    exact: bool = False
    """Whether the target's place is known and not told by the picture."""
    across_cut: bool = False
    side: Side | None = None


@dataclass(frozen=True)
class Unknown:
    """A look that cannot be judged, and what it needs."""

    who: str
    needs: str


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
            yield Unknown(look.who, f"{_eye_marks_needed(readings, look.who)}{readings.lost_nodes(look.who)}")
            continue
        if whole is None:
            yield Unknown(look.who, "a look inside the shot's frames")
            continue
        if not np.isfinite(eyes.direction[whole.start : whole.stop]).any():
            yield Unknown(look.who, _eyes_needed(readings, actor, whole))
        for shot in shots_of(readings):
            part = whole.overlap(shot)
            if part is not None and np.isfinite(eyes.direction[part.start : part.stop]).any():
                yield look_at(readings, look, actor, eyes, part)


def _eye_marks_needed(readings: Readings, who: str) -> str:
    """Nobody is asked for marks that are there: then it is said what reading them lacks."""
    person = readings.cast.character(who) if readings.cast else None
    own = readings.actor(who, level=2)
    marked = person is not None and {f"eye_{side}{what}" for side in ("left", "right") for what in ("", "_edge")} <= person.marks.keys()
    why = own.lacks.get("eyes") if own is not None and marked else None
    return why or "marks for both eyes (centre, edge, iris), or a scene with eye nodes"


def _eyes_needed(readings: Readings, actor: Acting, span: Span) -> str:
    at = readings.numbering.text(span)
    if actor.level == 3 and not readings.cameras:
        return f"a camera of the scene for every frame, named in the cast where there are several; {at} was not judged"
    return f"eyes that are seen and can be followed at {at}"


def look_at(readings: Readings, look: LookAt, actor: Acting, eyes: EyePair, span: Span) -> JudgedLook | Unknown:
    """The direction that a look over `span`, within one shot, should have at the best level there is."""
    at = look.at
    if isinstance(at, Point):
        return _at_point(readings, actor, eyes, span, at)
    if at == "camera":
        return _at_lens(look.who, actor, eyes, span, _lens_rests(readings))
    target = target_of(readings, at)
    if target is not None and _seen(readings, eyes, span, *target):
        spots, depth_error = target
        if (depth_error == NO_DEPTH).all():
            # A thing without a head, followed in the picture: put on its ray as far away as the eyes are.
            spots = spots / spots[:, 2:] * eyes.origin[:, 2:]
        return _at_spot(readings, look.who, at, actor, eyes, span, spots, depth_error)
    mirrored = _across_the_cut(readings, look.who, at, span)
    if mirrored is None and look.off is not None and look.off in ROUGHLY:
        return _off_the_picture(look.who, at, actor, eyes, span, look.off)
    if mirrored is None:
        return Unknown(look.who, f"{at} in the picture, or {at}'s look back on the other side of a cut, or a drawn target")
    return _mirrored(look.who, at, actor, eyes, span, *mirrored)


def _seen(readings: Readings, eyes: EyePair, span: Span, spots: Array, depth_error: Array) -> bool:
    """Whether the target's place tells a direction: known in the scene, or in the picture during the look."""
    exact = eyes.level == 3 and bool((depth_error == 0).all())
    return exact or bool(in_picture(readings, spots)[span.start : span.stop].any())


def _lens_rests(readings: Readings) -> tuple[str, ...]:
    return () if readings.cameras else (USUAL_LENS,)


def _at_lens(who: str, actor: Acting, eyes: EyePair, span: Span, rests_on: tuple[str, ...]) -> JudgedLook:
    distance = np.linalg.norm(eyes.origin, axis=1)
    wanted = -eyes.origin / distance[:, None]
    zero = np.zeros(len(wanted))
    return JudgedLook(who, "camera", actor, eyes, span, wanted, zero, zero, _levels(len(wanted)), distance, rests_on, eyes.level == 3)


def _off_the_picture(who: str, at: str, actor: Acting, eyes: EyePair, span: Span, side: Side) -> JudgedLook:
    n = len(eyes.origin)
    wanted, error = np.repeat(from_azimuth_elevation(*ROUGHLY[side])[None], n, axis=0), np.full(n, ROUGH_DEG)
    where = f"to screen {side}" if side in ("left", "right") else side
    return JudgedLook(
        who, at, actor, eyes, span, wanted, error, error, _levels(n), np.full(n, np.nan), (f"{at} is off the picture {where}",), side=side
    )


def _levels(n: int) -> Array:
    return np.repeat(LEVEL[None], n, axis=0)


def _mirrored(who: str, at: str, actor: Acting, eyes: EyePair, span: Span, wanted: Array, error: float) -> JudgedLook:
    n = len(eyes.origin)
    return JudgedLook(
        who, at, actor, eyes, span, np.repeat(wanted[None], n, axis=0), np.full(n, np.hypot(ACROSS_CUT_SIDE_DEG, error)),
        np.full(n, np.hypot(ACROSS_CUT_DEG, error)), _levels(n), np.full(n, np.nan), (CAMERAS_ALIKE,), across_cut=True,
    )  # fmt: skip


def _plane(eyes: Array, spots: Array) -> tuple[Array, npt.NDArray[np.bool_]]:
    """Unit normals of the planes through the lens, the eyes and the target [shape=(n, 3)], and where they lie too close for one."""
    with np.errstate(invalid="ignore", divide="ignore"):
        normal = np.cross(eyes, spots)
        length = np.linalg.norm(normal, axis=1, keepdims=True)
        apart = np.degrees(np.arctan2(length[:, 0], (eyes * spots).sum(axis=1)))
        normal = normal / length
    close = ~(apart > APART_DEG)
    return np.where(close[:, None] | ~np.isfinite(normal), LEVEL, normal), close


def _at_spot(
    readings: Readings, who: str, at: str, actor: Acting, eyes: EyePair, span: Span, spots: Array, depth_error: Array
) -> JudgedLook:
    way = spots - eyes.origin
    distance = np.linalg.norm(way, axis=1)
    with np.errstate(invalid="ignore", divide="ignore"):
        wanted = way / distance[:, None]
        # A depth that is wrong by a share s of itself turns the way by about s * depth / distance, at right angles to the picture.
        wobble = np.degrees(np.arctan(depth_error * np.abs(spots[:, 2]) * np.sqrt(1 - wanted[:, 2] ** 2) / distance))
        if not readings.cameras:
            # So does a lens that is only guessed, by its share times sin cos of the way's angle to the picture.
            wobble = np.hypot(wobble, np.degrees(LENS_SHARE) * np.abs(wanted[:, 2]) * np.sqrt(1 - wanted[:, 2] ** 2))
    exact = eyes.level == 3 and bool((depth_error == 0).all())
    normal, close = _plane(eyes.origin, spots)
    with np.errstate(invalid="ignore", divide="ignore"):
        place = (
            np.zeros(len(distance))
            if exact or at == "the drawn point" or "." in at
            else np.degrees(np.arctan(FACE_ERROR * HEAD_M / distance))
        )
    wobble, place = np.nan_to_num(wobble), np.nan_to_num(place)
    return JudgedLook(
        who, at, actor, eyes, span, wanted, np.hypot(wobble, place), np.where(close, wobble, place), normal, distance,
        () if exact else (HEADS_ALIKE, *_lens_rests(readings)), exact,
    )  # fmt: skip


def _at_point(readings: Readings, actor: Acting, eyes: EyePair, span: Span, at: Point) -> JudgedLook:
    """A point of the picture: taken as deep in the scene as the eyes, which is said; how deep it is turns the look towards or from the lens."""
    spots = np.empty_like(eyes.origin)
    for frame, origin in enumerate(eyes.origin):
        lens = lens_of(readings, frame)
        ray = pixel_rays(np.array([at.x * lens.width, at.y * lens.height]), lens)
        spots[frame] = ray / ray[2] * origin[2]
    made = _at_spot(readings, actor.who, "the drawn point", actor, eyes, span, spots, np.full(len(spots), NO_DEPTH))
    return replace(
        made, wanted_error_deg=np.hypot(made.wanted_error_deg, DRAWN_DEG), across_deg=np.hypot(made.across_deg, DRAWN_DEG),
        distance_m=np.full(len(spots), np.nan), rests_on=(AS_DEEP, *_lens_rests(readings)), exact=False,
    )  # fmt: skip


def _across_the_cut(readings: Readings, who: str, at: str, span: Span) -> tuple[Array, float] | None:
    """What `at`'s look back at `who` in the nearest other shot asks for: the mirrored direction, and its own error in degrees."""
    actor = next((a for a in sorted(readings.acting, key=lambda a: -a.level) if a.who == at and a.gaze), None)
    eyes = eyes_of(readings, actor) if actor is not None else None
    if actor is None or eyes is None:
        return None
    cuts = readings.picture.cuts if readings.picture else ()
    rests = resting(eyes, actor.lids, cuts)
    backs = [look_span(readings, k) for k in (readings.cast.looks if readings.cast else ()) if k.who == at and k.at == who]
    parts = [p for shot in shots_of(readings) for b in backs if b is not None and shot.overlap(span) is None and (p := shot.overlap(b))]
    parts = [p for p in parts if rests[p.start : p.stop].any()]
    if not parts:
        return None
    nearest = min(parts, key=lambda p: p.gap(span))
    frames = np.flatnonzero(rests[nearest.start : nearest.stop]) + nearest.start
    azimuth, elevation = azimuth_elevation(eyes.direction[frames])
    error = float(np.nanmedian(eyes.error_deg[frames]))
    return from_azimuth_elevation(-float(np.median(azimuth)), -float(np.median(elevation))), error
