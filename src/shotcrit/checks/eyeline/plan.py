"""A look seen from above and from the side, where a scene knows all places: who stands where, the look as it is and as it should be."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from shotcrit.checks.cut.view import camera_place, to_world
from shotcrit.checks.finding import Plan, PlanRay, PlanThing
from shotcrit.readings.bundle import Readings
from shotcrit.readings.looks.space import at_the_lens, target_of
from shotcrit.readings.looks.wanted import JudgedLook

Array = npt.NDArray[np.float64]

UP = np.array([0.0, 1.0, 0.0])
FAR_M = 12.0
"""What stands farther than this from the eyes is left off the plan, so that the look stays large (drawing only)."""
PLACES = 4
LEAST_LABEL_DEG = 0.5


def look_plans(readings: Readings, look: JudgedLook, frame: int) -> tuple[Plan, ...]:
    """Both views of a look on one frame; () where the places are not known."""
    if not (look.exact and readings.cameras and np.isfinite(look.distance_m[frame])):
        return ()
    reach = float(look.distance_m[frame])
    eyes = to_world(readings, frame, look.eyes.origin[frame])
    ends = {kind: to_world(readings, frame, look.eyes.origin[frame] + reach * way[frame]) for kind, way in _ways(look)}
    things = list(_things(readings, look, frame, eyes, ends["should"]))
    return _seen("above", frame, above_axes(readings, frame), eyes, ends, things), _seen(
        "side", frame, side_axes(eyes, ends["should"]), eyes, ends, things
    )


def _ways(look: JudgedLook) -> tuple[tuple[str, Array], tuple[str, Array]]:
    return ("is", look.eyes.direction), ("should", look.wanted)


def above_axes(readings: Readings, frame: int) -> tuple[Array, Array]:
    """World axes of the view from above: to screen right, and away from the lens, both level."""
    pose = np.asarray(readings.cameras[frame].world_to_camera, np.float64)
    right = _level(pose[0, :3])
    return right, np.cross(UP, right)


def side_axes(eyes: Array, target: Array) -> tuple[Array, Array]:
    """World axes of the view from the side: the wanted look's level way, and up."""
    return _level(target - eyes), UP


def _level(way: Array) -> Array:
    flat = way - (way @ UP) * UP
    length = float(np.linalg.norm(flat))
    return flat / length if length > 1e-6 else np.array([1.0, 0.0, 0.0])


def _things(readings: Readings, look: JudgedLook, frame: int, eyes: Array, target: Array) -> list[tuple[str, str, Array, Array | None]]:
    """Kind, name, place and facing of all that belongs on the plan."""
    out = [("head", look.who, eyes, _facing(readings, look.who, frame))]
    people = [c.name for c in readings.cast.characters] if readings.cast else []
    for who in (w for w in people if w != look.who):
        spots = target_of(readings, who)
        if spots is None or spots[1].any() or not np.isfinite(spots[0][frame]).all() or at_the_lens(spots[0][frame : frame + 1])[0]:
            continue
        place = to_world(readings, frame, spots[0][frame])
        if np.linalg.norm(place - eyes) < FAR_M:
            out.append(("head", who, place, _facing(readings, who, frame)))
    if look.at not in (*people, "camera"):
        out.append(("thing", look.at, target, None))
    pose = np.asarray(readings.cameras[frame].world_to_camera, np.float64)
    return [*out, ("lens", "lens", camera_place(readings, frame), pose[2, :3])]


def _facing(readings: Readings, who: str, frame: int) -> Array | None:
    actor = readings.actor(who, level=3)
    if actor is None or actor.head is None or not np.isfinite(actor.head.direction[frame]).all():
        return None
    return to_world(readings, frame, np.asarray(actor.head.direction[frame], np.float64)) - camera_place(readings, frame)


def _seen(
    view: str,
    frame: int,
    axes: tuple[Array, Array],
    eyes: Array,
    ends: dict[str, Array],
    things: list[tuple[str, str, Array, Array | None]],
) -> Plan:
    """Everything laid on one plane, with the eyes at 0, 0."""

    def flat(place: Array) -> tuple[float, float]:
        return round(float((place - eyes) @ axes[0]), PLACES), round(float((place - eyes) @ axes[1]), PLACES)

    def angle(way: Array | None) -> float | None:
        return None if way is None else round(float(np.degrees(np.arctan2(way @ axes[1], way @ axes[0]))), 1)

    turned = [angle(ends[kind] - eyes) or 0.0 for kind in ("is", "should")]
    off = abs((turned[0] - turned[1] + 180) % 360 - 180)
    label = f"{off:.1f}°" if off >= LEAST_LABEL_DEG else ""
    rays = (PlanRay("should", ((0.0, 0.0), flat(ends["should"]))), PlanRay("is", ((0.0, 0.0), flat(ends["is"])), label))
    placed = tuple(PlanThing(kind, name, *flat(place), angle(way)) for kind, name, place, way in things)  # type: ignore[arg-type]
    return Plan(frame, "above" if view == "above" else "side", placed, rays)
