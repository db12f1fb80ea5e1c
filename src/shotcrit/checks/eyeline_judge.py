"""One look against its target: off_target, not_converged, eyes_disagree, drift."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

import numpy as np
import numpy.typing as npt

from shotcrit.checks.eyeline_draw import look_strokes
from shotcrit.checks.eyeline_looks import JudgedLook
from shotcrit.checks.finding import COMMON, Finding, Weight
from shotcrit.clock import Span
from shotcrit.geometry.cameras import to_camera
from shotcrit.geometry.gaze import Miss, angle_deg, azimuth_elevation, lens_verdict, mean_direction, miss
from shotcrit.readings.bundle import Readings

Array = npt.NDArray[np.float64]
Limits = Mapping[str, float]

TARGET_BASIS = (
    "adults see 1 to 2 degrees of error towards objects (adult data quoted with Vida & Maurer, second hand); the weight's limit is a guess"
)
LENS_BASIS = (
    "cone of direct gaze 5.2 degrees wide (Horstmann & Linke 2021, doi:10.1177/03010066211059930); "
    "height disputed (Gao et al. 2025; Horstmann & Linke 2022)"
)
VERGENCE_BASIS = "vergence accepted within 3.5 degrees each way (Linke & Horstmann 2022, doi:10.1177/03010066221122359)"
FACE_M = 0.06
"""Half of what counts as looking somebody in the face, m: eyes to mouth is about 0.07 m (from memory)."""


def steady_frames(look: JudgedLook, limits: Limits) -> npt.NDArray[np.int64]:
    """The look's frames in which the eyes rest: known, not blinking, not darting."""
    index = np.arange(look.span.start, look.span.stop)
    direction = look.eyes.direction
    turn: Array = np.zeros(len(direction))
    turn[1:] = np.nan_to_num(angle_deg(direction[1:], direction[:-1]), nan=0.0)
    known = np.asarray(np.isfinite(direction).all(axis=1) & np.isfinite(look.wanted).all(axis=1), bool)
    for lids in look.actor.lids.values():
        known &= ~(np.nan_to_num(np.asarray(lids, np.float64), nan=1.0) < limits["lids_open"])
    near: Array = np.maximum(turn, np.append(turn[1:], 0.0))
    noise = np.nan_to_num(look.eyes.error_deg, nan=0.0)
    return index[known[index] & (near[index] < limits["dart_deg"] + 2 * noise[index])]


def look_findings(readings: Readings, look: JudgedLook, limits: Limits) -> Iterator[Finding]:
    """All findings of one look in one shot. Nothing is said where the error bar does not allow it."""
    frames = steady_frames(look, limits)
    if len(frames) < limits["fewest_frames"]:
        return
    seen = mean_direction(look.eyes.direction[frames])
    wanted = mean_direction(look.wanted[frames])
    gap = miss(seen, wanted)
    error = _error(look, frames)
    off = _off_lens(readings, look, frames, gap, error) if look.at == "camera" else _off_target(readings, look, frames, gap, error, limits)
    if off is not None:
        yield off
    else:
        yield from _drift(readings, look, frames, error, limits)
    yield from _eyes_disagree(readings, look, frames, limits)
    yield from _not_converged(readings, look, frames, limits)


def _error(look: JudgedLook, frames: npt.NDArray[np.int64]) -> float:
    """Standard error of the look's miss. Frames share their calibration, so that many frames do not shrink the eyes' own error."""
    own = float(np.nanmedian(look.eyes.error_deg[frames]))
    return float(np.hypot(own, float(np.median(look.wanted_error_deg[frames]))))


def _height_error(look: JudgedLook, frames: npt.NDArray[np.int64]) -> float:
    """Standard error of the miss in height alone."""
    own = float(np.nanmedian(look.eyes.error_deg[frames]))
    wanted = float(np.median(look.wanted_error_deg[frames]))
    if not look.depth_guessed:
        return float(np.hypot(own, wanted))
    _, elevation = azimuth_elevation(mean_direction(look.wanted[frames]))
    return float(np.hypot(own, wanted * abs(np.sin(np.radians(float(elevation))))))


def _words(gap: Miss, name: str) -> str:
    """'12 degrees too high' as the audience sees it, the larger part first."""
    parts = []
    if abs(gap.up) >= 0.5:
        parts.append((abs(gap.up), f"{abs(gap.up):.1f}° too {'high' if gap.up > 0 else 'low'}"))
    if abs(gap.right) >= 0.5:
        side = f"to screen {'right' if gap.right > 0 else 'left'}" if not gap.across_depth else "across the depth of the picture"
        parts.append((abs(gap.right), f"{abs(gap.right):.1f}° {side} of {name}"))
    return " and ".join(text for _, text in sorted(parts, reverse=True)) or f"{gap.total:.1f}° off {name}"


def _off_target(
    readings: Readings, look: JudgedLook, frames: npt.NDArray[np.int64], gap: Miss, error: float, limits: Limits
) -> Finding | None:
    distance = float(np.nanmedian(look.distance_m[frames])) if np.isfinite(look.distance_m[frames]).any() else float("nan")
    face = float(np.degrees(np.arctan(FACE_M / distance))) if np.isfinite(distance) and "." not in look.at else 0.0
    limit = max(limits["off_deg"], face)
    # A depth that is only guessed turns the wanted look along the view, hardly up or down: height keeps its own, smaller bar.
    height = _height_error(look, frames)
    by_height = abs(gap.up) - 2 * height > limit
    if gap.total - 2 * error <= limit and not by_height:
        return None
    if by_height and gap.total - 2 * error <= limit:
        gap, error = Miss(abs(gap.up), 0.0, gap.up, gap.across_depth), height
    rests = (
        f" (assuming {look.assumes}; give or take {2 * error:.1f}°)"
        if look.assumes
        else f" (give or take {2 * error:.1f}°)"
        if error
        else ""
    )
    return _finding(
        readings, look, frames, "off_target", gap.total, "degrees between the look and its target", limit,
        "must" if gap.total - 2 * error > limits["must_deg"] else "polish", error,
        f"{look.who} looks {_words(gap, look.at)}, not at {look.at}{rests}", _fix(gap), TARGET_BASIS,
    )  # fmt: skip


def _off_lens(readings: Readings, look: JudgedLook, frames: npt.NDArray[np.int64], gap: Miss, error: float) -> Finding | None:
    if lens_verdict(gap.right, gap.up, error) != "off the lens":
        return None
    return _finding(
        readings, look, frames, "off_target", gap.total, "degrees between the look and the lens", 2.6, "must" if gap.total > 8 else "polish", error,
        f"{look.who} looks {_words(gap, 'the lens')}; in a point of view the audience does not feel looked at", _fix(gap), LENS_BASIS,
    )  # fmt: skip


def _fix(gap: Miss) -> str:
    moves = []
    if abs(gap.up) >= 0.5:
        moves.append(f"{abs(gap.up):.1f}° {'down' if gap.up > 0 else 'up'}")
    if abs(gap.right) >= 0.5:
        moves.append(f"{abs(gap.right):.1f}° to screen {'left' if gap.right > 0 else 'right'}")
    return f"turn the eyes {' and '.join(moves) or 'onto the target'}; the ghosted irises show where"


def _drift(readings: Readings, look: JudgedLook, frames: npt.NDArray[np.int64], error: float, limits: Limits) -> Iterator[Finding]:
    """The eyes slide off their target without a dart: misses of the first and last quarter of the look differ, in one slow slide."""
    if len(frames) < limits["drift_frames"]:
        return
    quarter = max(3, len(frames) // 4)
    start, end = frames[:quarter], frames[-quarter:]
    away = angle_deg(look.eyes.direction, look.wanted)
    moved = float(np.nanmedian(away[end]) - np.nanmedian(away[start]))
    if moved - 2 * min(error, 1.0) <= limits["drift_deg"]:
        return
    yield _finding(
        readings, look, frames, "drift", moved, "degrees that the look slides off its target", limits["drift_deg"], "polish", error,
        f"{look.who}'s eyes slide {moved:.1f}° off {look.at} while they should hold it", "lock the eyes on the target and let the head move round them", COMMON,
    )  # fmt: skip


def _eyes_disagree(readings: Readings, look: JudgedLook, frames: npt.NDArray[np.int64], limits: Limits) -> Iterator[Finding]:
    """One eye higher than the other, beyond what a near target asks of two eyes on a tilted head: eyes turn up and down together."""
    if len(look.eyes.each) < 2:
        return
    left, right = (azimuth_elevation(look.eyes.each[side][frames])[1] for side in ("left", "right"))
    gap = float(np.nanmedian(left - right)) - _asked_height(readings, look, frames)
    error = float(np.nanmedian(look.eyes.error_deg[frames])) * 2
    if not abs(gap) - error > limits["disagree_deg"]:
        return
    higher = "left" if gap > 0 else "right"
    yield _finding(
        readings, look, frames, "eyes_disagree", abs(gap), "degrees of height between the two eyes", limits["disagree_deg"], "polish", error / 2,
        f"{look.who}'s {higher} eye looks {abs(gap):.1f}° higher than the other", "level the eyes; both turn up and down together", COMMON,
    )  # fmt: skip


def _asked_height(readings: Readings, look: JudgedLook, frames: npt.NDArray[np.int64]) -> float:
    """Degrees by which the left eye must look higher than the right to see the same target; 0 where its distance is unknown."""
    origins = [look.actor.gaze[side].world_origin for side in ("left", "right")]
    if not readings.cameras or origins[0] is None or origins[1] is None or not np.isfinite(look.distance_m[frames]).any():
        return 0.0
    poses = np.array([readings.cameras[i].world_to_camera for i in frames], np.float64)
    target = look.eyes.origin[frames] + look.wanted[frames] * look.distance_m[frames, None]
    heights = [azimuth_elevation(target - to_camera(np.asarray(o, np.float64)[frames], poses))[1] for o in origins if o is not None]
    return float(np.nanmedian(heights[0] - heights[1]))


def _not_converged(readings: Readings, look: JudgedLook, frames: npt.NDArray[np.int64], limits: Limits) -> Iterator[Finding]:
    """The eyes cross before or behind the target. Judged at level 3, where the distance is known."""
    gazes = look.actor.gaze
    if len(gazes) < 2 or not np.isfinite(look.distance_m[frames]).any():
        return
    origins = [gazes[side].world_origin for side in ("left", "right")]
    if origins[0] is None or origins[1] is None:
        return
    apart = float(
        np.nanmedian(np.linalg.norm(np.asarray(origins[0], np.float64)[frames] - np.asarray(origins[1], np.float64)[frames], axis=1))
    )
    asked = float(np.degrees(2 * np.arctan(apart / 2 / np.nanmedian(look.distance_m[frames]))))
    left, right = (look.eyes.each[side][frames] for side in ("left", "right"))
    angle = float(np.nanmedian(angle_deg(left, right)))
    signed = angle if _lean_together(look, frames) else -angle
    gap = signed - asked
    if abs(gap) <= limits["vergence_deg"]:
        return
    yield _finding(
        readings, look, frames, "not_converged", gap, "degrees, + when the eyes cross in front of the target", limits["vergence_deg"], "polish", 0.0,
        f"{look.who}'s eyes {'cross in front of' if gap > 0 else 'look past'} {look.at} by {abs(gap):.1f}°",
        "aim each eye at the target itself", VERGENCE_BASIS,
    )  # fmt: skip


def _lean_together(look: JudgedLook, frames: npt.NDArray[np.int64]) -> bool:
    """Whether the eyes turn towards each other, wherever the camera stands: each leans from its own side to the other's."""
    left, right = look.actor.gaze["left"], look.actor.gaze["right"]
    if left.world_origin is None or right.world_origin is None or left.world_direction is None or right.world_direction is None:
        return True
    apart = np.asarray(left.world_origin, np.float64)[frames] - np.asarray(right.world_origin, np.float64)[frames]
    spread = np.asarray(left.world_direction, np.float64)[frames] - np.asarray(right.world_direction, np.float64)[frames]
    return float(np.nanmedian((spread * apart).sum(axis=1))) <= 0


def _finding(
    readings: Readings, look: JudgedLook, frames: npt.NDArray[np.int64], kind: str, value: float, unit: str, limit: float, weight: Weight, error: float,
    says: str, suggest: str, basis: str,
) -> Finding:  # fmt: skip
    sure = 0.95 if error == 0 else float(np.clip(0.5 + 0.15 * (abs(value) - limit) / error, 0.5, 0.95))
    return Finding(
        check="eyeline", kind=kind, who=look.who, span=Span(int(frames[0]), int(frames[-1]) + 1), value=round(value, 1), unit=unit, limit=round(limit, 1),
        weight=weight, confidence=round(sure, 2), says=says, suggest=suggest, basis=basis, level=look.actor.level,
        strokes=look_strokes(readings, look, int(frames[len(frames) // 2])),
    )  # fmt: skip
