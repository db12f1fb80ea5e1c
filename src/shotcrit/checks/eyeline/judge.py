"""One look against its target: off_target and drift; with them what both eyes do (eyeline_eyes)."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from shotcrit.checks.eyeline.eyes import eyes_disagree, not_converged
from shotcrit.checks.eyeline.finding import Frames, Limits, finding_of
from shotcrit.checks.eyeline.words import fix, miss_words
from shotcrit.checks.finding import COMMON, Finding, Weight
from shotcrit.geometry.gaze import CONE_HALF_DEG, Miss, angle_deg, lens_verdict, mean_direction, miss, split_by_plane, turned_by_plane
from shotcrit.readings.bundle import Readings
from shotcrit.readings.looks.rests import resting
from shotcrit.readings.looks.wanted import JudgedLook

TARGET_BASIS = (
    "adults see 1 to 2 degrees of error towards objects (adult data quoted with Vida & Maurer, second hand); the weight's limit is a guess"
)
LENS_BASIS = (
    "cone of direct gaze 5.2 degrees wide (Horstmann & Linke 2021, doi:10.1177/03010066211059930); "
    "height disputed (Gao et al. 2025; Horstmann & Linke 2022)"
)
FACE_M = 0.06
"""Half of what counts as looking somebody in the face, m: eyes to mouth is about 0.07 m (from memory)."""

LENS_MUST_DEG = 8.0
"""From here on a look beside the lens holds the shot back (guess: the outer end of the 4 to 9 degrees still accepted as direct)."""
DRIFT_ERROR_DEG = 1.0
"""Most of the error bar that counts against a slide: the eyes' own error is shared by all frames of a look (guess)."""
BOTH_EYES = 0.5
"""Share of a look's frames on which both eyes must be known for it to hold a shot back at level 2 (guess)."""
ALIKE = 1.2
"""Error bars in and out of a plane are one bar up to this ratio."""


def steady_frames(readings: Readings, look: JudgedLook, limits: Limits) -> Frames:
    """The look's frames in which the eyes rest: known, not blinking, not darting."""
    index = np.arange(look.span.start, look.span.stop)
    cuts = readings.picture.cuts if readings.picture else ()
    rests = resting(look.eyes, look.actor.lids, cuts, dart_deg=limits["dart_deg"], lids_open=limits["lids_open"])
    return index[rests[index] & np.isfinite(look.wanted[index]).all(axis=1)]


def look_findings(readings: Readings, look: JudgedLook, limits: Limits) -> Iterator[Finding]:
    """All findings of one look in one shot. Nothing is said where the error bar does not allow it."""
    frames = steady_frames(readings, look, limits)
    if len(frames) < limits["fewest_frames"]:
        return
    off = _off_lens(readings, look, frames) if look.at == "camera" else _off_target(readings, look, frames, limits)
    if off is not None:
        yield off
    else:
        yield from _drift(readings, look, frames, limits)
    yield from eyes_disagree(readings, look, frames, limits)
    yield from not_converged(readings, look, frames, limits)


def _off_target(readings: Readings, look: JudgedLook, frames: Frames, limits: Limits) -> Finding | None:
    """A miss beyond the limit by more than the error bar; of a miss whose one part is not sure, only the sure part is told."""
    distance = float(np.nanmedian(look.distance_m[frames])) if look.exact else 0.0
    face = float(np.degrees(np.arctan(FACE_M / distance))) if look.exact and look.at in _people(readings) else 0.0
    limit = max(limits["off_deg"], face)
    sure = sure_miss(look, frames, limit)
    if sure is None:
        return None
    gap, error = sure
    return finding_of(
        readings, look, frames, "off_target", gap.total, "degrees between the look and its target", limit,
        _weight(look, frames, gap.total - 2 * error > limits["must_deg"]), error,
        f"{look.who} looks {miss_words(gap, look.at)}, not at {look.at}{_rests(look, error)}", fix(gap), TARGET_BASIS,
    )  # fmt: skip


def _weight(look: JudgedLook, frames: Frames, far_off: bool) -> Weight:
    """In pictures one eye alone holds no shot back: where a far eye's rim is taken for its iris, only the other eye could tell."""
    known = [np.isfinite(gaze.direction[frames]).all(axis=1) for gaze in look.actor.gaze.values()]
    both = len(known) == 2 and float(np.mean(known[0] & known[1])) >= BOTH_EYES
    return "must" if far_off and (look.actor.level != 2 or both) else "polish"


def _people(readings: Readings) -> set[str]:
    return {person.name for person in readings.cast.characters} if readings.cast else set()


def _rests(look: JudgedLook, error: float) -> str:
    """What the judgement rests on and how far it may be off, in brackets."""
    bar = f"give or take {2 * error:.1f}°" if error else ""
    said = "; ".join(part for part in (f"assuming {look.assumes}" if look.assumes else "", bar) if part)
    return f" ({said})" if said else ""


def sure_miss(look: JudgedLook, frames: Frames, limit: float) -> tuple[Miss, float] | None:
    """The part of the look's miss that is beyond `limit` by two standard errors, and its error; None where there is none.

    Frames share their calibration, so that many frames do not shrink the eyes' own error. How deep a target stands turns the wanted look only
    within the plane through the lens, the eyes and the target: out of it the bar is the eyes' own.
    """
    seen, wanted = mean_direction(look.eyes.direction[frames]), mean_direction(look.wanted[frames])
    normal = mean_direction(look.normal[frames])
    out, within = split_by_plane(seen, wanted, normal)
    own = float(np.nanmedian(look.eyes.error_deg[frames]))
    out_error = float(np.hypot(own, np.median(look.across_deg[frames])))
    within_error = float(np.hypot(own, np.median(look.wanted_error_deg[frames])))
    if within_error <= ALIKE * out_error:
        gap, error = miss(seen, wanted), max(out_error, within_error)
        return (gap, error) if gap.total - 2 * error > limit else None
    keep_out, keep_within = abs(out) - 2 * out_error > limit, abs(within) - 2 * within_error > limit
    if not (keep_out or keep_within):
        return None
    shown = turned_by_plane(wanted, normal, out if keep_out else 0.0, within if keep_within else 0.0)
    return miss(shown, wanted), within_error if keep_within and abs(within) > abs(out) else out_error


def _off_lens(readings: Readings, look: JudgedLook, frames: Frames) -> Finding | None:
    gap = miss(mean_direction(look.eyes.direction[frames]), mean_direction(look.wanted[frames]))
    error = float(np.nanmedian(look.eyes.error_deg[frames]))
    if lens_verdict(gap.right, gap.up, error) != "off the lens":
        return None
    return finding_of(
        readings, look, frames, "off_target", gap.total, "degrees between the look and the lens", CONE_HALF_DEG,
        _weight(look, frames, gap.total - 2 * error > LENS_MUST_DEG), error,
        f"{look.who} looks {miss_words(gap, 'the lens')}; in a point of view the audience does not feel looked at{_rests(look, error)}", fix(gap), LENS_BASIS,
    )  # fmt: skip


def undecided(readings: Readings, look: JudgedLook, limits: Limits) -> str | None:
    """What a look beside the lens needs where the literature disagrees whether it is felt; None where it is felt, is not, or cannot be told."""
    frames = steady_frames(readings, look, limits)
    if look.at != "camera" or len(frames) < limits["fewest_frames"]:
        return None
    gap = miss(mean_direction(look.eyes.direction[frames]), mean_direction(look.wanted[frames]))
    error = float(np.nanmedian(look.eyes.error_deg[frames]))
    beside = max(abs(gap.right), abs(gap.up)) - 2 * error > CONE_HALF_DEG
    if not beside or lens_verdict(gap.right, gap.up, error) != "undecided":
        return None
    at = readings.numbering.text(look.span)
    return (
        f"your own eye at {at}: {look.who} looks {miss_words(gap, 'the lens')}, and studies disagree whether that is felt as a look at it"
    )


def _drift(readings: Readings, look: JudgedLook, frames: Frames, limits: Limits) -> Iterator[Finding]:
    """The eyes slide off their target without a dart: misses of the first and last quarter of the look differ, in one slow slide."""
    if len(frames) < limits["drift_frames"]:
        return
    quarter = max(3, len(frames) // 4)
    start, end = frames[:quarter], frames[-quarter:]
    away = angle_deg(look.eyes.direction, look.wanted)
    moved = float(np.nanmedian(away[end]) - np.nanmedian(away[start]))
    error = min(float(np.nanmedian(look.eyes.error_deg[frames])), DRIFT_ERROR_DEG)
    if moved - 2 * error <= limits["drift_deg"]:
        return
    yield finding_of(
        readings, look, frames, "drift", moved, "degrees that the look slides off its target", limits["drift_deg"], "polish", error,
        f"{look.who}'s eyes slide {moved:.1f}° off {look.at} while they should hold it", "lock the eyes on the target and let the head move round them", COMMON,
    )  # fmt: skip
