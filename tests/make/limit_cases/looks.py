"""What eyeline, and cut's judgements of looks, places and ways let pass: scenes of two people in which everything is known."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from fractions import Fraction

import numpy as np

from shotcrit.clock import FrameClock
from shotcrit.readings.acting import Acting, CameraView, Gaze, MarkTrack
from shotcrit.readings.bundle import PictureReadings, Readings, Series
from shotcrit.readings.cast import parse_cast
from tests.make.limit_cases.case import Case
from tests.make.reverse_shots import HALF, Stage, in_the_picture_alone, reverse_shots
from tests.make.two_hander import (
    WIDTH,
    Fault,
    actor,
    eyes_of_head,
    lens_matrix,
    look_at_matrix,
    movie_info,
    off_by,
    rotate,
    two_hander,
)

Array = np.ndarray
UP = np.array([0.0, 1, 0])
FOCAL = 2000.0


def missing_a_prop(degrees: float) -> Readings:
    """Ada looks that far over a thing: of people a face's size is allowed besides."""
    readings, _ = two_hander(0, Fault(up=degrees))
    cast = parse_cast({"characters": [{"name": "Ada"}], "props": [{"name": "Ben"}], "looks": [{"who": "Ada", "at": "Ben"}]}, name="c")
    return replace(readings, cast=cast)


def too_high_together(degrees: float) -> Readings:
    """Both look half of it over the other's eyes, which each alone may."""
    ada, ben = np.array([-0.4, 1.5, 0.0]), np.array([0.4, 1.5, 0.0])
    pose = look_at_matrix(np.array([0.0, 1.5, 4.0]), np.array([0.0, 1.5, 0.0]))
    people = []
    for name, here, there in (("Ada", ada, ben), ("Ben", ben, ada)):
        way = (there - here) / np.linalg.norm(there - here)
        aim = off_by(way, pose, Fault(up=degrees / 2))
        point = here + aim * np.linalg.norm(there - here)
        eyes = eyes_of_head(here, way)
        people.append(actor(name, eyes, np.stack([(point - e) / np.linalg.norm(point - e) for e in eyes]), pose, FOCAL, 12))
    cast = parse_cast(
        {"characters": [{"name": "Ada"}, {"name": "Ben"}], "looks": [{"who": "Ada", "at": "Ben"}, {"who": "Ben", "at": "Ada"}]}, name="c"
    )
    view = CameraView(lens_matrix(FOCAL), pose.astype(np.float32))
    return Readings(movie_info(12), FrameClock.steady(Fraction(24), 12), cast=cast, acting=tuple(people), cameras=(view,) * 12)


def turned(readings: Readings, how: Callable[[str, Array], Array]) -> Readings:
    """Ada's eyes turned: how(side, directions [shape=(n, 3)], camera) in camera and world alike."""
    ada, *others = readings.acting
    gaze = {}
    for side, eye in ada.gaze.items():
        seen = how(side, np.asarray(eye.direction, np.float64)).astype(np.float32)
        assert eye.world_direction is not None
        turn = np.asarray(readings.cameras[0].world_to_camera, np.float64)[:3, :3]
        gaze[side] = replace(eye, direction=seen, world_direction=(seen @ turn).astype(np.float32))
    return replace(readings, acting=(replace(ada, gaze=gaze), *others))


def uneven(degrees: float) -> Readings:
    """One eye looks so much higher than the other."""
    return turned(
        two_hander(0, Fault())[0], lambda side, d: np.array([_raised(v, degrees / 2 if side == "left" else -degrees / 2) for v in d])
    )


def crossing(degrees: float) -> Readings:
    """The eyes cross by so much more than their target asks."""
    return turned(two_hander(0, Fault())[0], lambda side, d: np.array([rotate(v, UP, _inwards(side) * degrees / 2) for v in d]))


def _inwards(side: str) -> float:
    return -1.0 if side == "left" else 1.0


def _raised(direction: Array, degrees: float) -> Array:
    level = np.cross(direction, UP)
    return rotate(direction, level / np.linalg.norm(level), degrees)


def sliding(degrees: float, frames: int = 72) -> Readings:
    """Eyes that rest on their target for a quarter of the look, slide off by so much over half of it, and rest there. Farther, and all of it is off target."""
    ways = degrees * np.clip((np.arange(frames) - frames / 4) / (frames / 2), 0, 1)
    base = two_hander(0, Fault(), frames=frames)[0]
    return turned(base, lambda _, d: np.array([_raised(v, w) for v, w in zip(d, ways, strict=True)]))


def sliding_over(frames: float) -> Readings:
    """A slide of four degrees, in a look of so many frames."""
    return sliding(4.0, round(frames))


def looking_for(frames: float) -> Readings:
    """A look ten degrees off that rests on so many frames; on the rest the eyes are not known."""
    readings, _ = two_hander(1, Fault(up=10), frames=12)
    ada, *others = readings.acting
    gaze = {}
    for side, eye in ada.gaze.items():
        direction = eye.direction.copy()
        direction[round(frames) :] = np.nan
        gaze[side] = replace(eye, direction=direction)
    return replace(readings, acting=(replace(ada, gaze=gaze), *others))


def lids(opening: float) -> Readings:
    """A look ten degrees off, by eyes that are open so far."""
    readings, _ = two_hander(1, Fault(up=10), frames=12)
    ada, *others = readings.acting
    open_so_far = np.full(12, opening, np.float32)
    return replace(readings, acting=(replace(ada, lids={"left": open_so_far, "right": open_so_far}), *others))


def darting(degrees: float, frames: float) -> Readings:
    """One turn of the eyes by so many degrees, over so many frames."""
    turn = degrees * np.clip((np.arange(30) - 10) / round(frames), 0, 1)
    return turned(two_hander(1, Fault(), frames=30)[0], lambda _, d: np.array([_raised(v, a) for v, a in zip(d, turn, strict=True)]))


def restless(degrees: float) -> Readings:
    """A look ten degrees off by eyes that turn to and fro by so much on each frame: darting eyes are judged by no look."""
    sway = degrees / 2 * np.where(np.arange(12) % 2 == 0, 1, -1)
    return turned(two_hander(1, Fault(up=10), frames=12)[0], lambda _, d: np.array([_raised(v, a) for v, a in zip(d, sway, strict=True)]))


# Across cuts


def stage(angles: tuple[float, float] = (30.0, 30.0), away: tuple[float, float] = (1.4, 1.4)) -> Stage:
    """Two of one height, 1.6 m apart; each one's camera stands at its angle off the line between them, negative for the other side, all of one height."""
    ada, ben = np.array([-0.8, 1.5, 0.0]), np.array([0.8, 1.5, 0.0])
    places = []
    for head, other, angle, far in ((ada, ben, angles[0], away[0]), (ben, ada, angles[1], away[1])):
        along = (other - head) / np.linalg.norm(other - head)
        side = np.radians(angle)
        places.append(head + far * (along * np.cos(side) + np.array([0, 0, 1.0]) * np.sin(side)))
    return Stage(ada, ben, (places[0], places[1]), 3000.0)


def passing(degrees: float) -> Readings:
    return reverse_shots(stage(), Fault(up=degrees))


def to_one_side(degrees: float) -> Readings:
    """In pictures alone, without error: Ada looks 30 degrees to screen right, and Ben `degrees` to the same side."""
    seen = in_the_picture_alone(reverse_shots(stage(), Fault()), 0, 1e-6)
    ada, ben = seen.acting
    way = rotate(np.array([0.0, 0.0, -1.0]), UP, -degrees)
    gaze = {
        side: replace(eye, direction=np.where(np.isfinite(eye.direction), way, np.nan).astype(np.float32)) for side, eye in ben.gaze.items()
    }
    return replace(seen, acting=(ada, replace(ben, gaze=gaze)))


def unanswered(degrees: float) -> Readings:
    """Ada looks off screen, alone; the next shot is seen from her eyes, by a lens whose picture ends so many degrees beside the way she looks."""
    base = reverse_shots(stage(), Fault(), said=False)
    ada, _ = base.acting
    eyes, way = np.array([-0.8, 1.5, 0.0]), np.array([1.0, 0.0, 0.0])
    half_of_the_picture = float(np.degrees(np.arctan(WIDTH / 2 / 3000.0)))
    pose = look_at_matrix(eyes, eyes + rotate(way, UP, half_of_the_picture + degrees))
    view = CameraView(lens_matrix(3000.0), pose.astype(np.float32))
    cast = parse_cast({"characters": [{"name": "Ada"}]}, name="c")
    return replace(base, cast=cast, acting=(ada,), cameras=(*base.cameras[:HALF], *([view] * HALF)))


def over_the_line(degrees: float) -> Readings:
    """The second camera stands so far on the other side of the line between the two."""
    return reverse_shots(stage((30.0, -degrees)), Fault())


def turned_about(degrees: float, larger: float = 1.0) -> Readings:
    """Both shots show Ada alone, from places that are so many degrees apart about her; in the second she is `larger` times as large."""
    ada = np.array([0.0, 1.5, 0.0])
    acting, views = [], []
    for angle, far in ((0.0, 2.0), (degrees, 2.0 / larger)):
        place = ada + far * np.array([np.sin(np.radians(angle)), 0.0, np.cos(np.radians(angle))])
        pose = look_at_matrix(place, ada)
        eyes = eyes_of_head(ada, np.array([0.0, 0.0, 1.0]))
        acting.append(actor("Ada", eyes, np.repeat([[0.0, 0.0, 1.0]], 2, axis=0), pose, FOCAL, HALF))
        views += [CameraView(lens_matrix(FOCAL), pose.astype(np.float32))] * HALF
    arrays = ("origin", "direction", "error_deg", "iris", "world_origin", "world_direction")
    gaze = {s: Gaze(**{n: np.concatenate([getattr(a.gaze[s], n) for a in acting]) for n in arrays}) for s in acting[0].gaze}
    nose = {n: np.concatenate([getattr(a.marks["nose"], n) for a in acting]) for n in ("xy", "error_px", "world")}
    joined = replace(acting[0], gaze=gaze, marks={"nose": MarkTrack("Ada", "nose", **nose)})
    return _with_cut(Readings(
        movie_info(2 * HALF), FrameClock.steady(Fraction(24), 2 * HALF), cast=parse_cast({"characters": [{"name": "Ada"}]}, name="c"),
        acting=(joined,), cameras=tuple(views),
    ))  # fmt: skip


def going(share: float) -> Readings:
    """Ada goes to screen right by `share` of the width a frame, and to screen left after the cut."""
    way = share * np.concatenate([np.arange(HALF), HALF - np.arange(HALF)])
    xy = np.stack([0.5 + way, np.full(2 * HALF, 0.5)], axis=1).astype(np.float32)
    marks = {"nose": MarkTrack("Ada", "nose", xy, np.zeros(2 * HALF, np.float32))}
    return _with_cut(Readings(
        movie_info(2 * HALF), FrameClock.steady(Fraction(24), 2 * HALF), cast=parse_cast({"characters": [{"name": "Ada"}]}, name="c"),
        acting=(Acting("Ada", 2, marks),),
    ))  # fmt: skip


def _with_cut(readings: Readings) -> Readings:
    none = np.zeros(2 * HALF, np.float32)
    return replace(readings, picture=PictureReadings(none > 0, Series("movement", "px", none), (HALF,), 0.5))


CASES = {
    "eyeline.off_deg": Case(missing_a_prop, "off_target", 0.0, 20.0, at=2.0, within=0.1),
    "eyeline.must_deg": Case(missing_a_prop, "off_target", 0.0, 20.0, at=5.0, within=0.1, weight="must"),
    "eyeline.heights_deg": Case(too_high_together, "heights", 0.0, 8.0, at=3.0, within=0.1),
    "eyeline.disagree_deg": Case(uneven, "eyes_disagree", 0.0, 12.0, at=3.0, within=0.3),
    "eyeline.vergence_deg": Case(crossing, "not_converged", 0.0, 20.0, at=7.0, within=0.5),
    "eyeline.drift_deg": Case(sliding, "drift", 0.0, 4.4, at=3.0, within=0.3),
    "eyeline.drift_frames": Case(sliding_over, "drift", 8, 60, at=16, whole=True),
    "eyeline.dart_deg": Case(restless, "off_target", 4.0, 0.0, at=1.0, within=0.1),
    "eyeline.lids_open": Case(lids, "off_target", 0.0, 1.0, at=0.35, within=0.01),
    "eyeline.fewest_frames": Case(looking_for, "off_target", 1, 12, at=3, whole=True),
    # Half of natural saccades are above 5 degrees (Malinov et al. 2000); over four frames these float.
    "eyeline.dart_least_deg": Case(lambda size: darting(size, 4), "dart", 4.0, 12.0, at=5.0, within=0.1),
    # 2.2 x 15 + 21 = 54 ms (Carpenter 1988), 1.3 frames at 24, and two to spare: four are too many.
    "eyeline.dart_spare_frames": Case(lambda frames: darting(15.0, frames), "dart", 1, 12, at=4, whole=True),
    "cut.meet_deg": Case(passing, "faces_do_not_meet", 0.0, 20.0, at=5.0, within=0.3),
    "cut.neutral_deg": Case(to_one_side, "crossed_line", 0.0, 40.0, at=6.0, within=0.3),
    "cut.view_deg": Case(unanswered, "unclear_point_of_view", 0.0, 40.0, at=8.0, within=0.3),
    "cut.line_deg": Case(over_the_line, "crossed_line", 1.0, 30.0, at=12.0, within=0.5),
    "cut.turn_deg": Case(turned_about, "too_alike", 60.0, 5.0, at=30.0, within=0.3),
    "cut.size": Case(lambda larger: turned_about(5.0, larger), "too_alike", 2.0, 1.0, at=1.35, within=0.02),
    "cut.move": Case(going, "direction_flips", 0.0, 0.02, at=0.006, within=0.0003),
}
