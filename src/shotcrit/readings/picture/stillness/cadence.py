"""The rhythm of new pictures: work on ones, twos, threes; rate conversions by name; frames doubled or dropped.

A conversion by repeats from rate S to rate R shows source picture floor((k + phase) * S / R) on frame k. So for each pair of rates and each phase it is
known which frames must repeat, and the rhythm seen either fits or not.
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

import numpy as np
import numpy.typing as npt

from shotcrit.clock import Span, rate_label, runs
from shotcrit.counted import counted
from shotcrit.readings.picture.stillness.grid import Floats
from shotcrit.readings.picture.stillness.pauses import ON_BEAT, find_beat, find_open, find_pauses
from shotcrit.readings.seen import Cadence, CadenceKind

Flags = npt.NDArray[np.bool_]

SOURCES = tuple(Fraction(r) for r in (24, 25, 30, 48, 50))
"""Rates that pictures are made at; their 1000/1001 relatives make the same rhythm."""
LONGEST_STEP = 4
"""frames: a picture held longer is a hold, not a rhythm, up to 30 frames a second (common practice: fours are the slowest step in use)."""
SLOWEST_STEP = 8.0
"""frames: new pictures that come slower, however evenly, are not felt as movement (guess)."""
MOVES = 0.4
"""px of a picture 480 wide: rhythm is read only where the picture moves at least so far (guess)."""
AROUND = 6
"""frames each side whose median movement says whether the picture moves there (guess)."""
HIT, FALSE = 0.9, 0.04
"""Part of the frames that must repeat and do; part of the others that repeat all the same (guess: one miss in ten is noise)."""
LEAST_HITS = 3
"""repeats that a rhythm must show (two are chance; a conversion with one repeat a second needs three seconds)."""
BAND = 1.3
"""pictures: an exact conversion keeps within 1 of its line; a file that keeps time in milliseconds (Matroska) wavers a little more (guess)."""
LEAST_LOOSE, LEAST_STRETCH = 6, 24
"""repeats, and frames in a stretch of movement, that a wavering rhythm must show (guess)."""
PULLDOWN_FIT = 0.8
"""Correlation of the movement with the 2:3 step rhythm (guess: free movement stays under 0.5)."""
PULLDOWN_STEPS = (1.0, 0.5, 1.0, 0.5, 1.0)
"""Movement of frames A-A, B-B, B-C, C-D, D-D against the one before, in source pictures (2:3 pulldown of fields, 4 film frames in 5 video frames)."""
BEAT = 4
"""repeats on one beat that are no doubled frames (guess: three can be chance)."""
ALIKE, DOUBLE, FARTHEST = 0.25, 0.3, 3
"""Dropped frame: the neighbours' movement alike within 0.25, the jump within 0.3 of twice or three times it (guess); farther is an accent."""
CHANCE = 2e-3
"""How likely at most dropped frames fall on one beat by chance for a conversion to be named: six on a beat of four, three on one of 24."""
UNLIKE = 4.0
"""times as much as the other that one neighbour of a doubled frame may change (guess)."""
TURN = 0.5
"""Doubled frame: the straight lines through the two steps on either side meet in it at more than half of its neighbours' movement (guess: at a turn they meet
at nothing, in even movement at all of it)."""
CHANGES_MORE, CHANGES_EVENLY = 1.4, 0.3
"""times the mean change of the pixels on the frames either side that a dropped frame must change, and how alike these must be: a jump of the movement
alone is the fastest part of the picture going faster (guess: between 1 and the 2 that a fine texture shows; all 8 that were false on 23 strangers'
clips had 0.98 to 1.3)."""
EVEN_OVER = 3
"""frames either side that have to change so evenly: a hand-held camera never does for so long."""
JUMP_FROM = 1.0
"""px of a picture 480 wide, the neighbours' movement at the least (guess)."""


@dataclass(frozen=True)
class Seen:
    """What a rhythm is read from. n frames.

    repeats : bool [shape=(n,)]; of the whole picture
    movement : [shape=(n,)] px of a picture 480 wide; nan where not known
    change : [shape=(n,)] mean change of the pixels, 8-bit steps; see light.scores
    acted : bool [shape=(n,)]; False in black, fades and cards
    shots : between the cuts
    """

    repeats: Flags
    movement: Floats
    change: Floats
    acted: Flags
    shots: Sequence[Span]


def read_cadence(seen: Seen, rate: Fraction) -> Cadence:
    """Everything that hangs on the rhythm of new pictures."""
    live = _live(seen)
    pauses, open_ = find_pauses(seen.change, seen.shots) & seen.acted, find_open(seen.change, seen.shots) & seen.acted
    best = _best_rhythm(seen.repeats, live, rate) or _by_beat(pauses, open_, seen.repeats, rate)
    if best is None:
        best = _by_new_pictures(seen)
    if best is None:
        best = _pulldown(seen.movement, live, rate) or Cadence("step", "on ones", 1, 0, None, 1.0, np.zeros(len(live), np.bool_))
    if best.kind != "step":
        # A conversion explains every frame that is there twice or not at all: one cause, told once.
        return best
    jumps = _jumps(seen, live) if best.period == 1 else ()
    converted = _left_out(jumps, rate, best)
    if converted.kind == "conversion":
        return converted
    alone = _alone(seen.repeats & pauses & ~best.rhythm, live, seen.movement, seen.change, pauses)
    return replace(best, doubled=alone, dropped=tuple(i for i in jumps if _jumps_off(seen.change, i)))


def expected_repeats(frames: int, ratio: Fraction, phase: int) -> Flags:
    """Which frames repeat the one before when `ratio` source pictures last one frame: source index floor((k + phase) * ratio)."""
    source = [(k + phase) * ratio.numerator // ratio.denominator for k in range(frames)]
    return np.array([False] + [a == b for a, b in itertools.pairwise(source)])


def _live(seen: Seen) -> Flags:
    """Frames where a rhythm can be read: the picture moves around there, it is no hold, and it is not a shot's first frame."""
    repeats, movement, n = seen.repeats, seen.movement, len(seen.repeats)
    moved = np.where(repeats, np.nan, np.nan_to_num(movement))
    live = np.ones(n, np.bool_)
    for i in range(n):
        near = moved[max(0, i - AROUND) : i + AROUND + 1]
        near = near[np.isfinite(near)]
        live[i] = len(near) > 0 and float(np.median(near)) > MOVES
    for run in runs(repeats):
        if len(run) >= LONGEST_STEP:
            live[run.start : run.stop] = False
    for first in (shot.start for shot in seen.shots):
        live[first] = False
    return live & seen.acted


def _best_rhythm(repeats: Flags, live: Flags, rate: Fraction) -> Cadence | None:
    found: list[tuple[float, int, Cadence]] = []
    for ratio, kind, name, source in _candidates(rate):
        for phase in range(ratio.denominator):
            wanted = expected_repeats(len(repeats), ratio, phase)
            hits, others = repeats[live & wanted], repeats[live & ~wanted]
            if len(hits) < LEAST_HITS or hits.mean() < HIT or (len(others) and others.mean() > FALSE):
                continue
            fit = float(hits.mean()) - (float(others.mean()) if len(others) else 0)
            count = ratio.denominator - ratio.numerator
            cadence = Cadence(kind, name, ratio.denominator, count, source, fit, repeats & wanted & _rhythmic(repeats))
            found.append((fit, -ratio.denominator, cadence))
    return max(found, key=lambda f: f[:2])[2] if found else _loose_rhythm(repeats, live, rate)


def _loose_rhythm(repeats: Flags, live: Flags, rate: Fraction) -> Cadence | None:
    """A conversion whose phase wavers, as of files that keep time in milliseconds: the count of new pictures keeps to its line within a band."""
    stretches = [run for run in runs(live) if len(run) >= LEAST_STRETCH]
    best: tuple[float, Cadence] | None = None
    for ratio, kind, name, source in _candidates(rate):
        if kind != "conversion" or sum(int(repeats[r.start : r.stop].sum()) for r in stretches) < LEAST_LOOSE:
            continue
        off = max(float(np.ptp(np.cumsum(~repeats[r.start : r.stop]) - np.arange(len(r)) * float(ratio))) for r in stretches)
        if off <= BAND and (best is None or off < best[0]):
            count = ratio.denominator - ratio.numerator
            best = off, Cadence(kind, name, ratio.denominator, count, source, round(1 / max(1.0, off), 3), _rhythmic(repeats))
    return best[1] if best else None


def _by_beat(pauses: Flags, open_: Flags, repeats: Flags, rate: Fraction) -> Cadence | None:
    """A conversion whose repeats waver about their beat, or from a rate that nobody would guess."""
    whole = Fraction(round(rate))
    named = {1 / (1 - source / whole): source for source in SOURCES if source < whole}
    beat = find_beat(pauses, open_, tuple(named))
    if beat is None:
        return None
    known = next((source for period, source in named.items() if float(period) == beat.period), None)
    shown = known * rate / whole if known else rate * Fraction(1 - 1 / beat.period).limit_denominator(1000)
    about = "" if known else "about "
    label = rate_label(shown if known else Fraction(round(shown)))
    name = f"{about}{label} to {rate_label(rate)} frames per second by repeats"
    return Cadence("conversion", name, round(beat.period), 1, shown, ON_BEAT, (beat.flags | repeats) & _rhythmic(repeats | beat.flags))


def _by_new_pictures(seen: Seen) -> Cadence | None:
    """Slow work in even steps, whose pictures stand for four frames here and five there: no holds, and no fault."""
    beat = find_beat(~seen.repeats & seen.acted & (np.arange(len(seen.repeats)) > 0), seen.acted, (), wavers=False)
    if beat is None or beat.period > SLOWEST_STEP:
        return None
    rhythm = seen.repeats.copy()
    for run in runs(rhythm):
        rhythm[run.start : run.stop] = len(run) < beat.period + 1
    return Cadence(
        "step",
        f"a new picture every {counted(beat.period, 'frame', digits=1)}",
        round(beat.period),
        round(beat.period) - 1,
        None,
        ON_BEAT,
        rhythm,
    )


def _rhythmic(repeats: Flags) -> Flags:
    """Repeats that are short enough for a rhythm."""
    out = repeats.copy()
    for run in runs(repeats):
        if len(run) >= LONGEST_STEP:
            out[run.start : run.stop] = False
    return out


def _candidates(rate: Fraction) -> list[tuple[Fraction, CadenceKind, str, Fraction | None]]:
    whole = Fraction(round(rate))
    out: list[tuple[Fraction, CadenceKind, str, Fraction | None]] = []
    for step, word in ((2, "twos"), (3, "threes"), (4, "fours")):
        if whole / step < min(SOURCES):
            out.append((Fraction(1, step), "step", f"on {word}", None))
    for source in SOURCES:
        if source < whole:
            shown = source * rate / whole
            name = f"{rate_label(shown)} to {rate_label(rate)} frames per second by repeats"
            out.append((source / whole, "conversion", name, shown))
    return out


def _pulldown(movement: Floats, live: Flags, rate: Fraction) -> Cadence | None:
    """2:3 pulldown leaves no whole repeats in progressive pictures, but movement in a rhythm of five."""
    if round(rate) != 30:
        return None
    best = max(_rhythm_fit(movement, live, p) for p in range(5))
    if best < PULLDOWN_FIT:
        return None
    source = rate * Fraction(4, 5)
    name = f"2:3 pulldown, {rate_label(source)} film pictures in {rate_label(rate)} frames per second"
    return Cadence("pulldown", name, 5, 0, source, best, np.zeros(len(movement), np.bool_))


def _left_out(jumps: tuple[int, ...], rate: Fraction, otherwise: Cadence) -> Cadence:
    """A conversion to fewer pictures: every frame that seems dropped falls on the beat of one pair of rates."""
    whole = Fraction(round(rate))
    for source in sorted(SOURCES) if whole else ():  # nothing is converted to less than half a picture a second
        ratio = source / whole
        period = ratio.denominator
        if not 1 < ratio < 2 or ratio.numerator - period != 1 or len({i % period for i in jumps}) != 1:
            continue
        if period ** -(len(set(jumps)) - 1.0) < CHANCE:
            shown = source * rate / whole
            name = f"{rate_label(shown)} to {rate_label(rate)} frames per second by leaving out"
            return Cadence("conversion", name, period + 1, -1, shown, 0.9, otherwise.rhythm)
    return otherwise


def _rhythm_fit(movement: Floats, live: Flags, phase: int) -> float:
    """Correlation of the log movement, its own slow change taken out, with the pulldown's steps; least over the shot's halves."""
    steps = np.log(np.array([PULLDOWN_STEPS[(i + phase) % 5] for i in range(len(movement))]))
    moved = np.log(np.maximum(np.nan_to_num(movement), MOVES / 10))
    smooth = np.convolve(np.pad(moved, 2, mode="edge"), np.ones(5) / 5, mode="valid")
    use = live.copy()
    use[:3] = use[-3:] = False
    if use.sum() < 20:
        return 0.0
    a, b = (moved - smooth)[use], (steps - steps.mean())[use]
    if a.std() < 0.1:
        return 0.0
    return float(np.corrcoef(a, b)[0, 1])


def _alone(repeats: Flags, live: Flags, movement: Floats, change: Floats, pauses: Flags) -> tuple[int, ...]:
    """Single repeats within movement that follow no beat of their own. pauses : with those that the noise hides from the repeats"""
    single = {run.start for run in runs(repeats) if len(run) == 1 and run.stop < len(repeats)}
    beat = single | set(map(int, np.flatnonzero(pauses)))
    return tuple(
        i for i in sorted(single)
        if bool(live[max(0, i - 2) : i + 3].all()) and _goes_through(movement, i) and _between_alike(change, i) and not _on_a_beat(i, beat)
    )  # fmt: skip


def _between_alike(change: Floats, i: int) -> bool:
    """Whether the frames on both sides change about as much: beside a jump nothing is told."""
    less, more = sorted((float(change[i - 1]), float(change[i + 1])))
    return more < UNLIKE * less


def _on_a_beat(i: int, single: set[int]) -> bool:
    """Whether repeats stand BEAT in a row, every second, third or fourth frame: a part of the shot that is worked on twos or so."""
    for step in range(2, LONGEST_STEP + 1):
        before = next(k for k in range(BEAT) if i - (k + 1) * step not in single or k == BEAT - 1)
        after = next(k for k in range(BEAT) if i + (k + 1) * step not in single or k == BEAT - 1)
        if before + 1 + after >= BEAT:
            return True
    return False


def _goes_through(movement: Floats, i: int) -> bool:
    """Whether the movement on both sides of frame i leads on into it. One that slows down to nothing and comes back is a turn, not a doubled frame."""
    if not 2 <= i < len(movement) - 2:
        return True
    two_before, before, after, two_after = np.nan_to_num(movement[[i - 2, i - 1, i + 1, i + 2]])
    led = ((2 * before - two_before) + (2 * after - two_after)) / 2
    return bool(led > TURN * (before + after) / 2)


def _jumps(seen: Seen, live: Flags) -> tuple[int, ...]:
    """Frames that go as far as two or three between two steps alike on either side."""
    movement, out = seen.movement, list[int]()
    for first, stop in ((shot.start, shot.stop) for shot in seen.shots):
        for i in range(first + 3, stop - 2):
            near = movement[[i - 2, i - 1, i + 1, i + 2]]
            mean = float(near.mean())
            known = mean >= JUMP_FROM and np.isfinite(movement[i])  # a picture that is missing moves nowhere
            if not known or not live[i - 2 : i + 3].all() or seen.repeats[i - 2 : i + 3].any():
                continue
            far = round(float(movement[i]) / mean)
            if (
                float(np.abs(near - mean).max()) < ALIKE * mean
                and 2 <= far <= FARTHEST
                and abs(float(movement[i]) - far * mean) < DOUBLE * mean
            ):
                out += [i] * (far - 1)
    return tuple(out)


def _jumps_off(change: Floats, i: int) -> bool:
    """Whether the pixels say the same as the movement: the picture changes more on frame i than on the even frames either side."""
    near = np.concatenate([change[max(0, i - EVEN_OVER) : i], change[i + 1 : i + EVEN_OVER + 1]])
    mean = float(near.mean())
    return bool(np.abs(near - mean).max() < CHANGES_EVENLY * mean and change[i] > CHANGES_MORE * mean)
