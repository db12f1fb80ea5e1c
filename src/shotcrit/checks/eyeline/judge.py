"""One look against its target: off_target and drift; with them what both eyes do (eyeline_eyes)."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from shotcrit.checks.eyeline.draw import iris_move
from shotcrit.checks.eyeline.eyes import eyes_disagree, not_converged
from shotcrit.checks.eyeline.finding import Array, Frames, Limits, Told, finding_of, parts_of, shown_frame
from shotcrit.checks.eyeline.words import Seen, looks_words, target_words, turn_words
from shotcrit.checks.finding import COMMON, Finding
from shotcrit.checks.sure import about, beyond
from shotcrit.geometry.gaze import CONE_HALF_DEG, Miss, angle_deg, lens_verdict, mean_direction, miss, split_by_plane, turned_by_plane
from shotcrit.readings.bundle import Readings
from shotcrit.readings.looks.rests import resting
from shotcrit.readings.looks.space import in_picture
from shotcrit.readings.looks.wanted import AS_DEEP, HEADS_ALIKE, USUAL_LENS, JudgedLook

TARGET_BASIS = (
    "adults see 1 to 2 degrees of error towards objects (Vida & Maurer 2012, J. Exp. Child Psychol. 111:299-318, second hand, year and place from memory); "
    "guess: the weight's limit"
)
LENS_BASIS = (
    "cone of direct gaze 5.2 degrees wide (Horstmann & Linke 2021, doi:10.1177/03010066211059930); "
    "its height is disputed (Gao et al. 2025, doi:10.1167/jov.25.11.8); (Horstmann & Linke 2022, Cogn. Res. Princ. Implic.)"
)
FACE_M = 0.06
"""Half of what counts as looking somebody in the face, m: eyes to mouth is about 0.07 m (from memory)."""

LENS_MUST_DEG = 8.0
"""From here on a look beside the lens holds the shot back (guess: the outer end of the 4 to 9 degrees still accepted as direct)."""
DRIFT_ERROR_DEG = 1.0
"""Most of the error bar that counts against a slide: the eyes' own error is shared by all frames of a look (guess)."""
DEPTHS = (HEADS_ALIKE, AS_DEEP)
"""What only the depth of the target rests on: a miss out of the plane through the lens, the eyes and the target does not."""
SUREST_DEG = 0.1
"""No frame weighs more than one that is known this well."""
ALIKE = 1.2
"""Error bars in and out of a plane are one bar up to this ratio."""


def steady_frames(readings: Readings, look: JudgedLook, limits: Limits) -> Frames:
    """The look's frames in which the eyes rest: known, in the picture, not blinking, not darting."""
    index = np.arange(look.span.start, look.span.stop)
    cuts = readings.picture.cuts if readings.picture else ()
    rests = resting(look.eyes, look.actor.lids, cuts, dart_deg=limits["dart_deg"], lids_open=limits["lids_open"])
    seen = np.isfinite(look.wanted[index]).all(axis=1)
    # A scene knows eyes that the picture does not show, and nobody misses what they look at there.
    shown = in_picture(readings, look.eyes.origin)[index] if look.eyes.level == 3 else seen
    return index[rests[index] & seen & shown]


def look_findings(readings: Readings, look: JudgedLook, limits: Limits) -> Iterator[Finding]:
    """All findings of one look in one shot. Nothing is said where the error bar does not allow it."""
    frames = steady_frames(readings, look, limits)
    if len(frames) < limits["fewest_frames"]:
        return
    off = _off_lens(readings, look, frames) if look.at == "camera" else _off_target(readings, look, frames, limits)
    if off is not None:
        yield off
    elif look.side is None:
        yield from _drift(readings, look, frames, limits)
    yield from eyes_disagree(readings, look, frames, limits)
    yield from not_converged(readings, look, frames, limits)


def _off_target(readings: Readings, look: JudgedLook, frames: Frames, limits: Limits) -> Finding | None:
    """A miss beyond the limit by more than the error bar; of a miss whose one part is not sure, only the sure part is told."""
    if look.across_cut or look.side is not None:
        # What mirrors the other's look tells that the two miss each other, which is told of both, at the cut; of a mere side see beside.py.
        return None
    distance = float(np.nanmedian(look.distance_m[frames])) if look.exact else 0.0
    face = float(np.degrees(np.arctan(FACE_M / distance))) if look.exact and look.at in people(readings) else 0.0
    limit = max(limits["off_deg"], face)
    sure = sure_miss(look, frames, limit)
    if sure is None:
        return None
    gap, error, by_depth = sure
    rests_on = look.rests_on if by_depth else tuple(what for what in look.rests_on if what not in DEPTHS)
    return _miss(readings, replace(look, rests_on=rests_on), frames, gap, Told(
        "off_target", gap.total, "degrees between the look and its target", limit, error, "", "", TARGET_BASIS,
        weight="must" if beyond(gap.total, limits["must_deg"], error) else "polish",
    ))  # fmt: skip


def _miss(readings: Readings, look: JudgedLook, frames: Frames, gap: Miss, told: Told, more: str = "") -> Finding:
    """A miss with its words. more : what else its sentence says"""
    seen = seen_miss(readings, look, gap, told.error)
    ways = turn_words(look.who, seen, iris_move(readings, look, shown_frame(frames)))
    words = replace(told, says=looks_words(look.who, seen) + more, suggest=ways, about=parts_of(gap), rests_on=look.rests_on)
    return finding_of(readings, look, frames, words)


def seen_miss(readings: Readings, look: JudgedLook, gap: Miss, error: float) -> Seen:
    """A miss with its target as people call it."""
    return Seen(gap, target_words(look.at), look.at in people(readings), error)


def people(readings: Readings) -> set[str]:
    """Names of the cast's characters."""
    return {person.name for person in readings.cast.characters} if readings.cast else set()


def mean_look(look: JudgedLook, frames: Frames) -> tuple[Array, float]:
    """(where the eyes point over the frames, one standard error in degrees), each frame weighed by how sure it is.

    Frames share their calibration, so that many frames do not shrink the error: with weights 1 / e^2 it is sum(1 / e) / sum(1 / e^2).
    """
    error = np.asarray(look.eyes.error_deg[frames], np.float64)
    weight = 1 / np.maximum(np.where(np.isfinite(error), error, np.nanmax(error, initial=SUREST_DEG)), SUREST_DEG) ** 2
    direction = mean_direction(look.eyes.direction[frames], weight)
    return direction, float(np.nansum(error * weight) / weight.sum())


def sure_miss(look: JudgedLook, frames: Frames, limit: float) -> tuple[Miss, float, bool] | None:
    """The part of the look's miss that is beyond `limit` by two standard errors, its error, and whether depth has a part in it; None where there is none.

    How deep a target stands turns the wanted look only
    within the plane through the lens, the eyes and the target: out of it the bar is the eyes' own.
    """
    seen, own = mean_look(look, frames)
    wanted, normal = mean_direction(look.wanted[frames]), mean_direction(look.normal[frames])
    out, within = split_by_plane(seen, wanted, normal)
    out_error = float(np.hypot(own, np.median(look.across_deg[frames])))
    within_error = float(np.hypot(own, np.median(look.wanted_error_deg[frames])))
    if within_error <= ALIKE * out_error:
        gap, error = miss(seen, wanted), max(out_error, within_error)
        return (gap, error, True) if beyond(gap.total, limit, error) else None
    keep_out, keep_within = beyond(out, limit, out_error), beyond(within, limit, within_error)
    if not (keep_out or keep_within):
        return None
    shown = turned_by_plane(wanted, normal, out if keep_out else 0.0, within if keep_within else 0.0)
    return miss(shown, wanted), within_error if keep_within and abs(within) > abs(out) else out_error, keep_within


def _off_lens(readings: Readings, look: JudgedLook, frames: Frames) -> Finding | None:
    seen, error = mean_look(look, frames)
    gap = miss(seen, mean_direction(look.wanted[frames]))
    if lens_verdict(gap.right, gap.up, error) != "off the lens":
        return None
    told = Told(
        "off_target", gap.total, "degrees between the look and the lens", CONE_HALF_DEG, error, "", "", LENS_BASIS,
        weight="must" if beyond(gap.total, LENS_MUST_DEG, error) else "polish",
    )  # fmt: skip
    return _miss(readings, look, frames, gap, told, "; we don't feel looked at")


def undecided(readings: Readings, look: JudgedLook, limits: Limits) -> str | None:
    """What a look beside the lens needs where the literature disagrees whether it is felt; None where it is felt, is not, or cannot be told."""
    frames = steady_frames(readings, look, limits)
    if look.at != "camera" or len(frames) < limits["fewest_frames"]:
        return None
    seen, error = mean_look(look, frames)
    gap = miss(seen, mean_direction(look.wanted[frames]))
    beside = beyond(max(abs(gap.right), abs(gap.up)), CONE_HALF_DEG, error)
    if not beside or lens_verdict(gap.right, gap.up, error) != "undecided":
        return None
    at = readings.numbering.text(look.span)
    return f"your own eye at {at}: {looks_words(look.who, seen_miss(readings, look, gap, error))}, and studies disagree whether that is felt as a look at us"


def _drift(readings: Readings, look: JudgedLook, frames: Frames, limits: Limits) -> Iterator[Finding]:
    """The eyes slide off their target without a dart: misses of the first and last quarter of the look differ, in one slow slide."""
    if len(frames) < limits["drift_frames"]:
        return
    quarter = max(3, len(frames) // 4)
    start, end = frames[:quarter], frames[-quarter:]
    away = angle_deg(look.eyes.direction, look.wanted)
    moved = float(np.nanmedian(away[end]) - np.nanmedian(away[start]))
    error = min(float(np.nanmedian(look.eyes.error_deg[frames])), DRIFT_ERROR_DEG)
    if moved < 0 or not beyond(moved, limits["drift_deg"], error):
        return
    amount = about(moved, error, "degree")
    yield finding_of(readings, look, frames, Told(
        "drift", moved, "degrees that the look slides off its target", limits["drift_deg"], error,
        f"{look.who}'s eyes slide {amount or 'well'} off {target_words(look.at)} while they should hold",
        "Lock the eyes on the target and let the head move round them", COMMON, rests_on=() if look.exact else (USUAL_LENS,),
    ))  # fmt: skip
