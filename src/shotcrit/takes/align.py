"""Lining two takes of one shot up: by sound, then by picture, into a frame map."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
import numpy.typing as npt

from shotcrit.errors import InputError
from shotcrit.takes.frame_map import FrameMap, inverse, stretches_of
from shotcrit.takes.heard import HeardMap, listen_along
from shotcrit.takes.monotone import Prices, best_way, second_thoughts
from shotcrit.takes.seen import Sight, first_sight, likeness, second_sight
from shotcrit.takes.side import Side

Floats = npt.NDArray[np.float32]
Steps = npt.NDArray[np.int64]

COARSE = 400
"""Frames of the longer take that the first look is taken at (guess: two a second of a minute is enough to find the way roughly)."""
PART, LAP, MARGIN = 240, 48, 36
"""New frames lined up at a time, more on either side that are then dropped, and old frames on either side of the rough way (guesses)."""
COARSE_PRICES = Prices((0.02, 0.0, 0.02, 0.04), leap=0.5, enter=0.4, ends=0.2)
COARSE_STRANGE = 0.85

NOISES = 2.0
"""Standard deviations of the noise by which a square may differ and count as the same."""
FULL = 7.0
"""Luma steps beyond that, from which a square is wholly another (guess)."""
STEP, LEAP, ENTER, ENDS = 3.0, 40.0, 25.0, 10.0
"""Prices of fine lining up, in squares that are wholly another (guesses; a turning head changes 20 to 200 a frame)."""
STRANGE = 0.45
"""Part of the squares that must be wholly another before a frame stands for nothing of the old take (guess: a cut changes 0.6 and more)."""
TIE, LED = 3.0, 60.0
"""Squares a frame that the sound's word is worth: where the picture is found again, where it is another."""
CHANGED = 0.15
"""Part of the squares that are wholly another, from which the sound leads alone."""
SLACK = 0.6, 3.0
"""Frames by which a picture may lie off its sound for nothing, and those from which it makes no more difference."""
DOUBT = 12.0
"""Squares by which the second best way must be dearer for a frame to be two thirds sure (guess)."""
MOVED_ON = 3.0
"""Squares by which a picture that stands past an end differs more than the end itself does (guess: noise gives 1)."""
SAME_PICTURE = 0.25
"""Part of the squares that may be wholly another in a picture of the same shot (guess: a character that moved otherwise changes a tenth)."""
ALIKE = 0.75
"""Correlation with the old picture from which a picture may be of the same shot (guess: other shots have 0.5 at most, the same ones 0.8 and more)."""
BELONGS, BELONGS_SOUND = 0.25, 0.25
"""Part of the frames of the shorter take whose picture, or whose sound, must be found again for two takes to belong together (guess)."""


@dataclass(frozen=True)
class _Picture:
    """The picture's word. way : old frame of each new; sure : see FrameMap

    other, alike : float32 [shape=(n_new,)] part of the squares that are wholly another there, and the pictures' likeness
    """

    way: Steps
    other: Floats
    alike: Floats
    sure: Floats
    sight: Sight

    def same_picture(self, frames: int) -> float:
        """0..1: part of so many frames whose picture was found again."""
        found = (self.way >= 0) & (self.other < SAME_PICTURE) & (self.alike > ALIKE)
        return min(1.0, float(found.sum()) / max(frames, 1))


def line_up(old: Side, new: Side) -> FrameMap:
    """How the frames of two takes of one shot belong together.

    Raises InputError, one sentence, for two that do not: neither picture nor sound of one is found again in the other.
    """
    heard = listen_along(old, new)
    if old.glances is None or new.glances is None:
        return _by_sound_alone(old, new, heard)
    wanted = _wanted(old, new, heard)
    seen = _look_along(old.glances, new.glances, float(old.clock.rate / new.clock.rate), wanted, heard)
    ratio = old.clock.rate / new.clock.rate
    same, by_sound = seen.same_picture(min(len(old), len(new))), heard.same if heard else 0.0
    if same < BELONGS and by_sound < BELONGS_SOUND:
        raise InputError(_strangers(old, new))
    return FrameMap(
        seen.way, inverse(seen.way, len(old)), seen.sure, stretches_of(seen.way, len(old), ratio), by_sound, same, seen.sight,
    )  # fmt: skip


def _strangers(old: Side, new: Side) -> str:
    return (
        f"{new.name} is no take of the shot in {old.name}: neither its pictures nor its sound are found there; name two takes of one shot"
    )


def _by_sound_alone(old: Side, new: Side, heard: HeardMap | None) -> FrameMap:
    if heard is None or heard.same < BELONGS_SOUND:
        raise InputError(_strangers(old, new))
    wanted = _wanted(old, new, heard)
    times = np.arange(len(new))
    known = ~np.isnan(wanted)
    filled = np.interp(times, times[known], wanted[known])
    way = np.maximum.accumulate(np.clip(np.floor(filled), 0, len(old) - 1).astype(np.int64))
    ratio = old.clock.rate / new.clock.rate
    return FrameMap(way, inverse(way, len(old)), heard.weight.astype(np.float32), stretches_of(way, len(old), ratio), heard.same, 0.0)


def _wanted(old: Side, new: Side, heard: HeardMap | None) -> npt.NDArray[np.float64]:
    """float64 [shape=(n_new,)]: the old frame, with parts, at the middle of whose time the new frame's sound lies; nan where nothing tells."""
    if heard is None:
        return np.full(len(new), np.nan)
    edges = np.array([float(edge) for edge in old.clock.edges])
    inside = np.interp(heard.at_s, edges, np.arange(len(edges)))
    rate = float(old.clock.rate)
    past = np.where(heard.at_s < 0, heard.at_s * rate, np.where(heard.at_s > edges[-1], len(old) + (heard.at_s - edges[-1]) * rate, inside))
    return np.asarray(past - 0.5)


def _look_along(old: Floats, new: Floats, ratio: float, wanted: npt.NDArray[np.float64], heard: HeardMap | None) -> _Picture:
    before, after = _filled(old), _filled(new)
    sight = first_sight(before, after)
    weight = heard.weight if heard else np.zeros(len(new))
    for _ in range(2):
        rough = _rough(sight.of(before), after, ratio, wanted, weight)
        sight = second_sight(sight, before, after, rough)
    rough = _rough(sight.of(before), after, ratio, wanted, weight)
    return _fine(sight, sight.of(before), after, ratio, rough, wanted, weight)


def _filled(glances: Floats) -> Floats:
    """Pictures that could not be decoded as the one before them."""
    bad = np.isnan(glances[:, 0, 0])
    if not bad.any():
        return glances
    last = np.maximum.accumulate(np.where(bad, 0, np.arange(len(glances))))
    return np.nan_to_num(glances[last])


def _halved(glances: Floats) -> Floats:
    n, high, wide = glances.shape
    return np.asarray(glances.reshape(n, high // 2, 2, wide // 2, 2).mean(axis=(2, 4)).reshape(n, -1), np.float32)


def _rough(old: Floats, new: Floats, ratio: float, wanted: npt.NDArray[np.float64], weight: npt.NDArray[np.float64]) -> Steps:
    """The old frame of every new one, roughly: of a few frames of each, and a straight line between them; -1 where inserted."""
    stride = max(1, -(-max(len(old), len(new)) // COARSE))
    before, after = _halved(old[::stride]), _halved(new[::stride])
    square = np.maximum((after**2).sum(1)[:, None] + (before**2).sum(1)[None] - 2 * after @ before.T, 0) / before.shape[1]
    near = max(float(np.median(square.min(axis=1))), 0.05)
    far = max(float(np.median(square)), 4 * near)
    costs = square / (square + np.sqrt(near * far))
    led = weight[::stride]
    off = np.abs(np.arange(costs.shape[1])[None] * stride - np.nan_to_num(wanted[::stride])[:, None]) / stride
    costs += (led[:, None] * np.clip(off - 1, 0, 4) / 4 * 0.4).astype(np.float32)
    strange = (COARSE_STRANGE + 0.4 * led).astype(np.float32)
    way = best_way(costs.astype(np.float32), strange, COARSE_PRICES)
    return _spread(way, stride, len(old), len(new), ratio)


def _spread(way: Steps, stride: int, old: int, new: int, ratio: float) -> Steps:
    if stride == 1:
        return way
    known = np.flatnonzero(way >= 0)
    if len(known) == 0:
        return np.full(new, -1, np.int64)
    at = np.arange(new)
    nearest = known[np.abs(known[None] * stride - at[:, None]).argmin(axis=1)]
    found = np.round(np.interp(at, known * stride, way[known] * stride)).astype(np.int64)
    beyond = (at < known[0] * stride) | (at > known[-1] * stride)
    found = np.where(beyond, np.round(way[nearest] * stride + (at - nearest * stride) * ratio), found).astype(np.int64)
    there = way[np.minimum(at // stride, len(way) - 1)] >= 0
    return np.where(there & (found >= 0) & (found < old), found, -1)


def _step_prices(ratio: float) -> Prices:
    """Free is going on as time does: at 24 old frames a second to 30 new ones by 0 or 1."""
    usual = (int(np.floor(ratio + 1e-6)), int(np.ceil(ratio - 1e-6)))
    steps = tuple(STEP * min(abs(step - one) for one in usual) for step in range(4))
    return Prices((steps[0], steps[1], steps[2], steps[3]), LEAP, ENTER, ENDS)


def _fine(
    sight: Sight, old: Floats, new: Floats, ratio: float, rough: Steps, wanted: npt.NDArray[np.float64], weight: npt.NDArray[np.float64]
) -> _Picture:
    """Frame by frame about the rough way, a part of the new take at a time."""
    before, after = (np.ascontiguousarray(g[:, sight.shown]) for g in (old, new))
    noise = np.float32(NOISES * sight.noise)
    way, other, sure = np.full(len(new), -1, np.int64), np.ones(len(new), np.float32), np.zeros(len(new), np.float32)
    prices, runs = _step_prices(ratio), _equal_runs(before, noise)
    for first in range(0, len(new), PART):
        stop = min(first + PART, len(new))
        low, high = max(0, first - LAP), min(len(new), stop + LAP)
        part = slice(low, high)
        begin, end = _reach(rough[part], wanted[part], len(old), first == 0, stop == len(new))
        alike = _differences(before[begin:end], after[part], noise)
        costs, strange = _with_sound(alike, begin, wanted[part], weight[part], before.shape[1])
        found = best_way(costs, strange, prices)
        doubt = _doubt(second_thoughts(costs, strange, prices), found, runs[begin:end])
        keep = slice(first - low, stop - low)
        rows = np.arange(len(found))
        _past_the_ends(found, alike, first=low == 0, last=high == len(new))
        parts = np.where(found >= 0, alike[rows, np.maximum(found, 0)] / before.shape[1], 1)
        way[first:stop] = np.where(found >= 0, found + begin, -1)[keep]
        other[first:stop], sure[first:stop] = parts[keep], (1 - np.exp(-doubt / DOUBT))[keep]
    known = way >= 0
    way[known] = np.maximum.accumulate(way[known])
    alike_there = np.where(known, likeness(before[np.maximum(way, 0)], after), 0)
    return _Picture(way, other, alike_there.astype(np.float32), np.clip(sure, 0, 0.99).astype(np.float32), sight)


def _past_the_ends(found: Steps, alike: Floats, *, first: bool, last: bool) -> None:
    """Frames that would hold one picture to the take's very first or last, and move on: the old take has none of them. Changes `found`.

    first, last : whether the take begins or ends in this part
    """
    for there, order in ((first, slice(None, None, -1)), (last, slice(None))):
        end = found[order][-1]
        at = np.flatnonzero(found == end)[order]
        if there and end >= 0 and len(at) > 1:
            apart = alike[at, end]
            moved = np.flatnonzero(apart > apart.min() + MOVED_ON)
            moved = moved[moved > int(apart.argmin())]
            if len(moved):
                found[at[moved[0] :]] = -1


def _reach(rough: Steps, wanted: npt.NDArray[np.float64], old: int, first: bool, last: bool) -> tuple[int, int]:
    """Old frames that a part of the new ones may be."""
    known = np.concatenate([rough[rough >= 0], wanted[~np.isnan(wanted)].astype(np.int64)])
    if len(known) == 0:
        return 0, old
    begin = max(0, min(int(known.min()) - MARGIN, old - 1))
    end = min(old, max(int(known.max()) + MARGIN + 1, begin + 1))
    return (0 if first and begin < 4 * MARGIN else begin), (old if last and end > old - 4 * MARGIN else end)


def _differences(before: Floats, after: Floats, noise: np.float32) -> Floats:
    """float32 [shape=(new, old)]: how many squares are another, each by how far it is."""
    found = np.empty((len(after), len(before)), np.float32)
    room = np.empty_like(before)
    for j, row in enumerate(after):
        cv2.absdiff(before, np.broadcast_to(row, before.shape).copy(), room)
        np.subtract(room, noise, out=room)
        np.clip(room, 0, np.float32(FULL), out=room)
        found[j] = room.sum(axis=1)
    return found / np.float32(FULL)


def _with_sound(
    alike: Floats, begin: int, wanted: npt.NDArray[np.float64], weight: npt.NDArray[np.float64], squares: int
) -> tuple[Floats, Floats]:
    """The costs with the sound's word, which weighs the more the less the picture is found again; and what a frame pays that stands for nothing."""
    least = alike.min(axis=1)
    voice = weight * (TIE + LED * np.clip(least / (CHANGED * squares), 0, 1) ** 2)
    at = np.arange(begin, begin + alike.shape[1])
    off = np.clip((np.abs(at[None] - np.nan_to_num(wanted)[:, None]) - SLACK[0]) / (SLACK[1] - SLACK[0]), 0, 1)
    costs = alike + (voice[:, None] * off).astype(np.float32)
    return costs, (STRANGE * squares + 2 * voice * squares / 100).astype(np.float32)


def _equal_runs(before: Floats, noise: np.float32) -> Steps:
    """A number for each old frame; equal pictures in a row share one."""
    apart = np.clip(np.abs(np.diff(before, axis=0)) - noise, 0, FULL).sum(axis=1) / FULL
    return np.concatenate([[0], np.cumsum(apart >= 0.5)]).astype(np.int64)


def _doubt(dearer: Floats, found: Steps, runs: Steps) -> Floats:
    """float32 [shape=(n_new,)]: how much dearer the best way is that shows another picture on this frame, more than a frame away."""
    at = np.arange(dearer.shape[1])
    own = np.maximum(found, 0)
    near = (np.abs(at[None] - own[:, None]) <= 1) | (runs[None] == runs[own][:, None])
    return np.where(near, np.float32(1e9), dearer).min(axis=1)
