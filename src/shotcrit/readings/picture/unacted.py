"""Stretches of a film in which nobody acts: black, fades, dissolves, and cards (titles, slates: flat ground with things on it that never move).

A fade or a dissolve mixes two pictures, so that every part of the picture goes the same way frame after frame; movement goes to and fro.
Read on the mean luma of the grid's cells, 8-bit steps.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from shotcrit.clock import Span, runs
from shotcrit.readings.picture.stillness.grid import Floats, Movements
from shotcrit.readings.seen import Fade, FadeKind
from shotcrit.readings.shots import shots_between

Flags = npt.NDArray[np.bool_]

BLACK_MOST, BLACK_SPREAD = 10.0, 3.0
"""luma steps: the brightest cell, and the cells' standard deviation, under which a picture is black (guess: a covered lens with its noise stays under both)."""
DARK_CELL = 4.0
"""luma steps: the mean under which a cell of a card shows nothing (guess)."""
WINDOW = 6
"""frames over which a fade must go one way (guess: a quarter of a second at 24)."""
ONE_WAY = 0.93
"""How far the cells come over the window over the way they go, 1 where none ever turns back (guess: acting stays under 0.85, a lamp aside)."""
LEAST_CHANGE = 0.04
"""of the picture's mean luma that the window must change (guess: a fade of 4 s changes 0.06 in its last quarter)."""
MOST_STEP = 0.5
"""of the whole change that one frame may make: more is a cut or a flash (guess)."""
BROAD, BROAD_SHARE = 0.25, 0.55
"""times the mean cell's change, and part of the cells that change so much: a fade takes all of the picture along (guess)."""
TOGETHER = 0.5
"""of the pixels' change that the cells' means change, at the least: in a fade the pixels of a cell go one way, in a pan to and fro (guess: fades have
0.6 to 1, even while the camera moves, pans 0.4 and less)."""
LEAST_FADE = 4
"""frames; shorter ones are cuts that blink."""
FAINT = 0.2
"""of the brighter end's mean luma under which the other end of a fade counts as black (guess)."""
PLAIN = 0.3
"""of the other end's spread over the cells under which one end shows nothing: a fade from or to white (guess)."""
OTHER_PICTURE = 0.8
"""Correlation of the cells at both ends under which it was a dissolve (guess: another light on the same picture stays over it)."""
FLAT, FLAT_SHARE = 3.0, 0.5
"""luma steps about the commonest luma, and part of the cells within it, that make a card's ground (guess)."""
STANDS = 0.4
"""px of a picture 480 wide: what moves less has not moved (as MOVES in stillness/cadence.py)."""
LEAST_CARD = 8
"""frames: a third of a second, under which nobody reads anything (guess)."""


def cell_lumas(cells: Movements) -> Floats:
    """float32 [shape=(n, 144)]: mean luma of each cell."""
    return np.concatenate([np.zeros((0, 144), np.float32), *(part.mean.reshape(len(part), -1) for part in cells.parts())])


def find_black(luma: Floats) -> tuple[Span, ...]:
    """Stretches of black pictures. luma : [shape=(n, cells)]"""
    return tuple(runs((luma.max(axis=1) < BLACK_MOST) & (luma.std(axis=1) < BLACK_SPREAD)))


def flags_of(spans: Iterable[Span], frames: int) -> Flags:
    """bool [shape=(frames,)]: inside of any of them."""
    inside = np.zeros(frames, np.bool_)
    for span in spans:
        inside[span.start : span.stop] = True
    return inside


def without_black(cuts: Iterable[int], black: Sequence[Span]) -> tuple[int, ...]:
    """The cuts but those inside of black, where a fade's first faint frame looks like one: nobody sees them."""
    return tuple(cut for cut in cuts if not any(cut - 1 in span and cut in span for span in black))


def find_fades(luma: Floats, change: Floats, cuts: Sequence[int], black: Sequence[Span]) -> tuple[Fade, ...]:
    """Fades in and out, and dissolves; none runs over a cut or through black. change : mean change of the pixels, 8-bit steps [shape=(n,)]"""
    found = []
    for shot in shots_between(cuts, len(luma)):
        for run in runs(_going_one_way(luma[shot.start : shot.stop], change[shot.start : shot.stop])):
            for span in _parted(Span(shot.start + run.start, shot.start + run.stop), black):
                kind = _kind(luma[span.start], luma[span.last])
                if kind is not None and len(span) >= LEAST_FADE:
                    found.append(Fade(span, kind))
    return tuple(found)


def _parted(span: Span, black: Sequence[Span]) -> list[Span]:
    """A stretch taken apart at the black inside of it: what goes down to black is one fade, what comes up from it another. Each keeps a black frame."""
    parts, start = [], span.start
    for dark in black:
        inside = dark.overlap(span)
        if inside is None:
            continue
        if inside.start + 1 - start > 1:
            parts.append(Span(start, inside.start + 1))
        start = inside.last
    return [*parts, Span(start, span.stop)] if span.stop - start > 1 else parts


def _going_one_way(luma: Floats, change: Floats) -> Flags:
    """bool [shape=(n,)]: frames within a window over which the whole picture goes one way."""
    inside = np.zeros(len(luma), np.bool_)
    step = np.diff(luma, axis=0)
    for i in range(len(step) - WINDOW + 1):
        steps = step[i : i + WINDOW]
        if _one_way(steps, luma[[i, i + WINDOW]], change[i + 1 : i + WINDOW + 1]):
            inside[i : i + WINDOW + 1] = True
    return inside


def _one_way(steps: Floats, ends: Floats, change: Floats) -> bool:
    """steps : [shape=(WINDOW, cells)]; ends : first and last picture [shape=(2, cells)]; change : [shape=(WINDOW,)]"""
    come = np.abs(steps.sum(axis=0))
    far = float(come.mean())
    by_frame = np.abs(steps).mean(axis=1)
    return bool(
        far > LEAST_CHANGE * ends.mean(axis=1).max()
        and far > ONE_WAY * by_frame.sum()
        and by_frame.max() < MOST_STEP * by_frame.sum()
        and (come > BROAD * far).mean() > BROAD_SHARE
        and by_frame.sum() > TOGETHER * change.sum()
    )


def _kind(first: Floats, last: Floats) -> FadeKind | None:
    """None where the picture at both ends is one, in other light."""
    start, end = float(first.mean()), float(last.mean())
    if start < FAINT * end or first.std() < PLAIN * last.std():
        return "in"
    if end < FAINT * start or last.std() < PLAIN * first.std():
        return "out"
    return "dissolve" if float(np.corrcoef(first, last)[0, 1]) < OTHER_PICTURE else None


def find_cards(luma: Floats, moved: Floats, cuts: Sequence[int], others: Sequence[Span]) -> tuple[Span, ...]:
    """Whole stretches between cuts, black and fades in which nothing moves over a flat ground. One card may take another's place.

    moved : px of a picture 480 wide [shape=(n,)]; nan where not known; others : black and fades
    """
    left = ~flags_of(others, len(luma))
    found = []
    for shot in shots_between(cuts, len(luma)):
        for run in runs(left[shot.start : shot.stop]):
            span = Span(shot.start + run.start, shot.start + run.stop)
            # The first picture's movement is from another shot.
            moves = np.nan_to_num(moved[span.start : span.stop]) >= STANDS
            moves[0] = False
            changes = [span.start, *(span.start + change.start for change in runs(moves)), span.stop]
            cards = [Span(a, b) for a, b in pairwise(changes)]
            # A ground that is flat under something that stops and goes is a set, not a card.
            whole = all(len(card) >= LEAST_CARD for card in cards) and all(len(change) == 1 for change in runs(moves))
            if whole and all(_flat_share(luma[card.start : card.stop]) > FLAT_SHARE for card in cards):
                found += cards
    return tuple(found)


def _flat_share(luma: Floats) -> float:
    """Part of the cells, on the usual frame, that lie about the commonest luma or show nothing."""
    about = [
        max(float((np.abs(row - level) < FLAT).mean()) for level in np.unique(np.round(row))) for row in luma[:: max(1, len(luma) // 8)]
    ]
    return float(np.median(about))
