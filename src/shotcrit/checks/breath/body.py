"""Each audible breath against the body: lift of chest and shoulders against the hips, and the mouth on the way in. Levels 2 and 3.

The lift over a breath is found by fitting the body's own slow movement (a polynomial in time) together with a rise that follows the breath and eases
off after it; what the rise takes is the breath, what the polynomial takes is sway. Camera moves drop out, since chest and shoulders are measured
against the hips, or against the other marks of the body where no hips are marked.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from shotcrit.clock import Span
from shotcrit.readings.acting import Acting, MarkTrack
from shotcrit.readings.bundle import Readings
from shotcrit.readings.events import Breath
from shotcrit.readings.frame_times import frame_starts
from shotcrit.readings.shots import shots_of

Array = npt.NDArray[np.float64]

BEFORE_S, AFTER_S = 1.0, 1.0
"""How much before and after a breath is fitted, s (guess: shorter than a sway, longer than a breath's release). Measured on 410 generated bodies with marks
of 0.2 px on a head of 200: with 0.7 s before, 4 % of lifts of 0.5 % are missed, with 1 s 2 %."""
RELEASE_S = 0.9
"""Time in which the lift eases off after the breath, s (guess)."""
SWAY_POWERS = 5
"""Terms of the polynomial. Measured on generated bodies that lean by 1 % of a head at up to 0.35 Hz: with three the lean passes for 0.3 % of
lift, with five for less than 0.1 %."""
ROUNDS = 4
"""Of fitting and weighing frames in turn."""
TAIL = 2.385
"""Scale of the Cauchy weight in standard deviations: 95 % efficiency on normal noise (Holland & Welsch 1977)."""
STEADY = 1e-4
"""Of the head's height; nothing is steadier than this (guess: 0.02 px of a head of 200 px)."""
SEARCH_FRAMES = 8
"""How far off a breath's movement is looked for, frames each way (guess: a third of a second)."""
UNSURE, UNSURE_PX = 4.0, 1.0
"""Times its usual error in the shot, and px at least: a mark that is less sure than this says nothing of a lift (guess)."""
LIFTED = ("chest", "shoulder_left", "shoulder_right")
GROUND = ("hips", "knee_left", "knee_right", "foot_left", "foot_right")
HEADS_A_BODY = 0.23
"""Head height in m where a scene does not say it (adult mean, from memory)."""


@dataclass(frozen=True)
class Lift:
    """The body's lift over one breath, as fractions of the head's height.

    amount, error : of the rise and its standard error; shift_frames : late is positive
    mouth : opening gained on the way in, of the mouth's width at rest; nan where unknown
    """

    amount: float
    error: float
    shift_frames: float
    mouth: float
    level: float


def lift_series(readings: Readings, actor: Acting) -> Array | None:
    """Height of chest and shoulders over the hips, fraction of the head's height, up is positive; float64 [shape=(n_frames,)], None without marks.

    Each mark counts from its own middle height in the shot, so that one that is lost for a while does not make the others jump.
    """
    up = [_lifted(readings, actor.marks[name], _height(readings, actor, name)) for name in LIFTED if name in actor.marks]
    down = [_height(readings, actor, name) for name in GROUND if name in actor.marks]
    if not up:
        return None
    head = head_height(readings, actor)
    raised = _together(readings, np.array([_from_the_middle(readings, height) for height in up]))
    return (raised - _ground(readings, down, len(raised))) / head


def _lifted(readings: Readings, track: MarkTrack, height: Array) -> Array:
    """Height of a mark where it is sure; by its outline in the shots where that tells more. Never both in one shot: they would not join."""
    out = _where_sure(readings, track, height)
    for shot in shots_of(readings):
        if by_outline(track, shot) and track.across is not None:
            cut = slice(shot.start, shot.stop)
            out[cut] = -np.asarray(track.across.y[cut], np.float64) * (readings.movie.height or 1)
    return out


def by_outline(track: MarkTrack, shot: Span) -> bool:
    """Whether a mark's outline says more of its height in a shot than its own texture: known on more frames, or as many and surer."""
    if track.across is None:
        return False
    cut = slice(shot.start, shot.stop)
    known = [_known(error[cut]) for error in (track.error_px, track.across.error_px)]
    if not known[1] or known[1] < 0.9 * known[0]:
        return False
    own, across = (
        float(np.nanmedian(error[cut])) if n else np.inf for error, n in zip((track.error_px, track.across.error_px), known, strict=True)
    )
    return across < own or known[1] > 1.1 * known[0]


def _known(error: npt.NDArray[np.float32]) -> float:
    """Share of frames on which a mark is followed, and surer than UNSURE_PX."""
    return float((np.nan_to_num(error, nan=np.inf) <= UNSURE_PX).mean()) if len(error) else 0.0


def outline_error(readings: Readings, actor: Acting, span: Span) -> float:
    """What following across an outline leaves unknown of the lift over `span`, of the head's height; 0 where marks are followed by their texture.

    Outlines of two shoulders err apart, a mark that is followed by its texture does not err so at all: the mean of k marks has 1/k of their error.
    """
    shot = next((s for s in shots_of(readings) if span.start in s), None)
    marks = [actor.marks[name] for name in LIFTED if name in actor.marks]
    if shot is None or not marks:
        return 0.0
    cut = slice(span.start, span.stop)
    errors = [
        float(np.nanmax(t.across.error_px[cut]))
        for t in marks
        if t.across is not None and by_outline(t, shot) and np.isfinite(t.across.error_px[cut]).any()
    ]
    return float(np.hypot.reduce(errors)) / len(marks) / head_height(readings, actor) if errors else 0.0


def _where_sure(readings: Readings, track: MarkTrack, height: Array) -> Array:
    """Nan where a mark is much less sure than it usually is in the shot: it rides on something that covers it, or is about to be lost."""
    error = np.asarray(track.error_px, np.float64)
    out = height.copy()
    for shot in shots_of(readings):
        cut = slice(shot.start, shot.stop)
        known = error[cut][np.isfinite(error[cut])]
        if len(known):
            out[cut][error[cut] > max(UNSURE * float(np.median(known)), UNSURE_PX)] = np.nan
    return out


def _together(readings: Readings, heights: Array) -> Array:
    """Mean of several marks [shape=(k, n_frames)] of which one is lost now and then.

    What a lost one differs by from those that are seen is taken to go on evenly from where it was lost to where it is found again: dropped at once, it
    would make the mean jump, which looks like a lift.
    """
    known = np.isfinite(heights)
    count = known.sum(axis=0)
    mean = np.where(known, heights, 0).sum(axis=0) / np.where(count, count, 1)
    out = np.where(count > 0, mean, np.nan)
    for shot in shots_of(readings):
        cut = np.arange(shot.start, shot.stop)
        full = cut[count[cut] == len(heights)]
        if not len(full):
            continue
        whole = heights[:, full].mean(axis=0)
        for some in {tuple(row) for row in known[:, cut].T.tolist() if any(row) and not all(row)}:
            part = np.array(some)
            gap = cut[(known[:, cut] == part[:, None]).all(axis=0)]
            out[gap] = heights[part][:, gap].mean(axis=0) + np.interp(gap, full, whole - heights[part][:, full].mean(axis=0))
    return np.asarray(out)


def _from_the_middle(readings: Readings, height: Array) -> Array:
    """Less its own median in each shot."""
    out = height.copy()
    for shot in shots_of(readings):
        part = out[shot.start : shot.stop]
        known = part[np.isfinite(part)]
        part -= np.median(known) if len(known) else 0.0
    return out


def _ground(readings: Readings, down: list[Array], n: int) -> Array:
    """Height of the first of the lower marks that is followed in a shot; 0 in a shot that is framed above all of them."""
    out = np.zeros(n)
    for shot in shots_of(readings):
        cut = slice(shot.start, shot.stop)
        known = next((d[cut] for d in down if np.isfinite(d[cut]).any()), None)
        if known is not None:
            out[cut] = known
    return out


def has_ground(actor: Acting) -> bool:
    """Whether the lift is measured against the actor's own hips or legs."""
    return any(name in actor.marks for name in GROUND)


def _height(readings: Readings, actor: Acting, mark: str) -> Array:
    """Up is positive: metres at level 3, px of the full-size frame at level 2."""
    track = actor.marks[mark]
    if track.world is not None:
        return np.asarray(track.world[:, 1], np.float64)
    return -np.asarray(track.xy[:, 1], np.float64) * (readings.movie.height or 1)


def head_height(readings: Readings, actor: Acting) -> float:
    """One number for the shot: metres at level 3, px of the full-size frame at level 2."""
    tops = [actor.marks.get(name) for name in ("head_top", "chin")]
    if actor.level == 3:
        if tops[0] is not None and tops[1] is not None and tops[0].world is not None and tops[1].world is not None:
            return float(np.nanmedian(np.linalg.norm(tops[0].world - tops[1].world, axis=1)))
        return HEADS_A_BODY
    if actor.head is not None and np.isfinite(actor.head.height_px).any():
        return float(np.nanmedian(actor.head.height_px))
    return 0.2 * (readings.movie.height or 1)


def breath_lift(readings: Readings, actor: Acting, breath: Breath, series: Array) -> Lift | None:
    """The lift that goes with one breath; None where too little of the body is known around it, or a cut lies in it."""
    starts = frame_starts(readings.clock)
    inside = (starts >= breath.start_s - BEFORE_S) & (starts <= breath.end_s + AFTER_S)
    inside &= _same_shot(readings, breath)
    index = np.flatnonzero(inside & np.isfinite(series))
    covered = index[(starts[index] >= breath.start_s - 0.1) & (starts[index] <= breath.end_s + 0.1)]
    if len(index) < 12 or len(covered) < 3:
        return None
    near = [starts[index] - late / float(readings.clock.rate) for late in range(-SEARCH_FRAMES, SEARCH_FRAMES + 1)]
    scale = min(_fit(times, series[index], breath).scale for times in near)
    fits = [_fit(times, series[index], breath, scale) for times in near]
    best = min(range(len(fits)), key=lambda k: fits[k].cost)
    found, shift = fits[best], float(best - SEARCH_FRAMES)
    if found.amount < 0 or found.amount < 2 * found.error:
        # Nothing rises anywhere near: the amount is what is there at the breath itself.
        found, shift = fits[SEARCH_FRAMES], 0.0
    return Lift(found.amount, found.error, shift, _mouth_gain(readings, actor, breath), actor.level)


def _same_shot(readings: Readings, breath: Breath) -> npt.NDArray[np.bool_]:
    n = len(readings.clock)
    at = readings.clock.frame_at((breath.start_s + breath.end_s) / 2)
    cuts = [c for c in (readings.picture.cuts if readings.picture else ()) if 0 < c < n]
    start = max([0] + [c for c in cuts if c <= at])
    stop = min([n] + [c for c in cuts if c > at])
    index = np.arange(n)
    return np.asarray((index >= start) & (index < stop), bool)


@dataclass(frozen=True)
class _Fit:
    """amount, error : of the rise and its standard error; scale : of what is left; cost : of the whole fit, the less the better"""

    amount: float
    error: float
    scale: float
    cost: float


def _fit(times: Array, values: Array, breath: Breath, scale: float | None = None) -> _Fit:
    """The rise by a robust fit over [1, t, t^2 ..., rise]: a few wild frames lose their say (Cauchy weights, Holland & Welsch 1977, reweighted in turn).

    scale : of what is left, the same for all fits that are to be compared; None takes each fit's own
    """
    t = times - (breath.start_s + breath.end_s) / 2
    rise = _rise(times, breath)
    table = np.stack([*(t**power for power in range(SWAY_POWERS)), rise], axis=1)
    if np.linalg.matrix_rank(table) <= SWAY_POWERS:
        return _Fit(0.0, float("inf"), float("inf"), float("inf"))
    trust = np.ones(len(values))
    for _ in range(ROUNDS):
        root = np.sqrt(trust)
        answer = np.linalg.lstsq(table * root[:, None], values * root, rcond=None)[0]
        residual = values - table @ answer
        own = scale or max(1.4826 * float(np.median(np.abs(residual))), STEADY)
        trust = 1 / (1 + (residual / (TAIL * own)) ** 2)
    free = max(1.0, float(trust.sum()) - SWAY_POWERS - 1)
    variance = float((trust * residual**2).sum()) / free
    cover = np.linalg.inv((table * trust[:, None]).T @ table)
    cost = float(np.log1p((residual / (TAIL * own)) ** 2).sum())
    return _Fit(float(answer[-1]), float(np.sqrt(max(cover[-1, -1], 0) * variance)), own, cost)


def _rise(times: Array, breath: Breath) -> Array:
    """0 before, a minimum-jerk rise to 1 over the breath (Flash & Hogan 1985), easing back to 0 over RELEASE_S."""
    length = max(breath.end_s - breath.start_s, 0.12)
    x = np.clip((times - breath.start_s) / length, 0, 1)
    up = 10 * x**3 - 15 * x**4 + 6 * x**5
    y = np.clip((times - breath.start_s - length) / RELEASE_S, 0, 1)
    return np.asarray(up * (1 - (10 * y**3 - 15 * y**4 + 6 * y**5)))


def lift_wanted(readings: Readings, breath: Breath) -> Array:
    """The rise that goes with a breath, 0..1, one value a frame."""
    return _rise(frame_starts(readings.clock), breath)


def _mouth_gain(readings: Readings, actor: Acting, breath: Breath) -> float:
    """How much further the mouth stands open through the breath than just before it, over its first two thirds.

    Not its end: there a mouth opens for the word that follows, 100 to 300 ms ahead (Chandrasekaran et al. 2009, figure from memory).
    """
    if actor.mouth is None:
        return float("nan")
    starts = frame_starts(readings.clock)
    opening, error = np.asarray(actor.mouth.opening, np.float64), np.asarray(actor.mouth.opening_error, np.float64)
    inside = (starts >= breath.start_s) & (starts <= breath.start_s + (breath.end_s - breath.start_s) * 2 / 3) & np.isfinite(opening)
    before = opening[(starts >= breath.start_s - 0.4) & (starts < breath.start_s - 0.1)]
    before = before[np.isfinite(before)]
    if not inside.any() or not len(before):
        return float("nan")
    # The greatest of several readings is too great by about their error: that much is no opening.
    return float(opening[inside].max() - np.median(before) - np.median(np.nan_to_num(error[inside])))
