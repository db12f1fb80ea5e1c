"""What both eyes do together: one higher than the other (eyes_disagree), crossing too near or too far (not_converged)."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from shotcrit.checks.eyeline.finding import Frames, Limits, Told, finding_of
from shotcrit.checks.eyeline.words import target_words
from shotcrit.checks.finding import COMMON, Finding
from shotcrit.checks.sure import about, beyond
from shotcrit.geometry.cameras import to_camera
from shotcrit.geometry.gaze import azimuth_elevation
from shotcrit.readings.bundle import Readings
from shotcrit.readings.looks.wanted import USUAL_LENS, JudgedLook

VERGENCE_BASIS = "vergence accepted within 3.5 degrees each way (Linke & Horstmann 2022, doi:10.1177/03010066221122359)"


def eyes_disagree(readings: Readings, look: JudgedLook, frames: Frames, limits: Limits) -> Iterator[Finding]:
    """One eye higher than the other, beyond what a near target asks of two eyes on a tilted head: eyes turn up and down together."""
    if len(look.eyes.each) < 2:
        return
    left, right = (azimuth_elevation(look.eyes.each[side][frames])[1] for side in ("left", "right"))
    if not np.isfinite(left - right).any():
        return
    gap = float(np.nanmedian(left - right)) - _asked_height(readings, look, frames)
    # Of the difference between two eyes: twice the error of their mean.
    error = 2 * float(np.nanmedian(look.eyes.error_deg[frames]))
    if not beyond(gap, limits["disagree_deg"], error):
        return
    higher, lower = ("left", "right") if gap > 0 else ("right", "left")
    yield finding_of(readings, look, frames, Told(
        "eyes_disagree", abs(gap), "degrees of height between the two eyes", limits["disagree_deg"], error,
        f"{look.who}'s {higher} eye looks {about(gap, error, 'degree')} higher than the {lower} one".replace("looks  ", "looks "),
        "Level the eyes; both turn up and down together", COMMON, rests_on=() if look.actor.level == 3 else (USUAL_LENS,),
    ))  # fmt: skip


def _asked_height(readings: Readings, look: JudgedLook, frames: Frames) -> float:
    """Degrees by which the left eye must look higher than the right to see the same target; 0 where its distance is unknown."""
    origins = [look.actor.gaze[side].world_origin for side in ("left", "right")]
    if not readings.cameras or origins[0] is None or origins[1] is None or not np.isfinite(look.distance_m[frames]).any():
        return 0.0
    poses = np.array([readings.cameras[i].world_to_camera for i in frames], np.float64)
    target = look.eyes.origin[frames] + look.wanted[frames] * look.distance_m[frames, None]
    heights = [azimuth_elevation(target - to_camera(np.asarray(o, np.float64)[frames], poses))[1] for o in origins if o is not None]
    return float(np.nanmedian(heights[0] - heights[1]))


def not_converged(readings: Readings, look: JudgedLook, frames: Frames, limits: Limits) -> Iterator[Finding]:
    """The eyes cross before or behind the target. Judged at level 3, where the distance is known."""
    gazes = look.actor.gaze
    if len(gazes) < 2 or not np.isfinite(look.distance_m[frames]).any():
        return
    origins = [gazes[side].world_origin for side in ("left", "right")]
    if origins[0] is None or origins[1] is None:
        return
    signed = vergence_deg(look, frames)
    apart = np.linalg.norm(np.asarray(origins[0], np.float64)[frames] - np.asarray(origins[1], np.float64)[frames], axis=1)
    asked = float(np.degrees(2 * np.arctan(np.nanmedian(apart) / 2 / np.nanmedian(look.distance_m[frames]))))
    gap = signed - asked
    if not beyond(gap, limits["vergence_deg"], 0.0):
        return
    at = target_words(look.at)
    yield finding_of(readings, look, frames, Told(
        "not_converged", gap, "degrees, + when the eyes cross in front of the target", limits["vergence_deg"], 0.0,
        f"{look.who}'s eyes {'cross in front of' if gap > 0 else 'look past'} {at}, by {about(gap, 0.0, 'degree')}",
        "Aim each eye at the target itself", VERGENCE_BASIS,
    ))  # fmt: skip


def vergence_deg(look: JudgedLook, frames: Frames) -> float:
    """How much the eyes turn towards each other, degrees: + they cross in front of the face, - they part. nan where no scene tells it.

    With u the unit vector from the right eye to the left: asin(right . u) - asin(left . u), so that a difference in height has no part in it.
    """
    left, right = look.actor.gaze["left"], look.actor.gaze["right"]
    if left.world_origin is None or right.world_origin is None or left.world_direction is None or right.world_direction is None:
        return float("nan")
    apart = np.asarray(left.world_origin, np.float64)[frames] - np.asarray(right.world_origin, np.float64)[frames]
    apart /= np.linalg.norm(apart, axis=1, keepdims=True)
    leans = [
        np.degrees(np.arcsin(np.clip((np.asarray(g.world_direction, np.float64)[frames] * apart).sum(axis=1), -1, 1)))
        for g in (right, left)
    ]
    return float(np.nanmedian(leans[0] - leans[1]))
