"""A cast carried from the old take to the new one: its frames by the frame map, its marks found again on the new pictures by their looks."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TypeVar

import cv2
import numpy as np
import numpy.typing as npt

from shotcrit.clock import Numbering, Span
from shotcrit.readings.cast import EYE_MARKS, MOUTH_MARKS, Cast, Contact, LookAt, Marked, Placed, SceneCamera
from shotcrit.takes.frame_map import FrameMap

Picture = npt.NDArray[np.uint8]
Pictures = Callable[[int], Picture]
"""Luma of a picture by its index, uint8 [shape=(h, w)], LOOKED_AT px wide, both takes alike."""
LOOKED_AT = 1280
"""px; width at which marks are looked for."""
RADIUS = 0.0125
"""Of the picture's width: half of the patch that a mark is known by (guess: 16 px of 1280, an eye in a medium shot)."""
REACH = 0.04
"""Of the picture's width: how far from its old place a mark is looked for (guess: farther off is another pose, or another person)."""
LIKE, ALONE = 0.85, 0.05
"""Correlation from which a patch is the mark, and how much liker it must be than any other place in reach (guesses)."""
APART = 4
"""px within which two places are one."""
WIDER = 3
"""Patches wide, of the surroundings that must be unchanged for a mark to be where it was."""
SOFT, SAME_MEAN, SAME_MOST = 1.5, 1.5, 9.0
"""px of a blur over what compression differs by; luma steps, on the mean and at the most, that count as no change (guess: compression leaves 1 and 5)."""
FLAT = 3.0
"""Luma steps, standard deviation; a patch that varies less has no looks to be known by."""

Ranged = TypeVar("Ranged", Contact, LookAt, SceneCamera)


@dataclass(frozen=True)
class CarriedMark:
    """One placed mark. old, new : as placed, shown frames of each take; new is None where its frame is gone

    likeness : correlation of its looks, 0 where nothing was compared
    sure : whether its looks were found again in one place alone; where not, `new` is where it would lie if nothing had moved, to be confirmed by a person
    """

    who: str
    mark: str
    old: Placed
    new: Placed | None
    likeness: float
    sure: bool


@dataclass(frozen=True)
class CarriedCast:
    """cast : for the new take, with the marks that are sure alone; marks : every one that the old cast placed"""

    cast: Cast
    marks: tuple[CarriedMark, ...]

    @property
    def unsure(self) -> tuple[CarriedMark, ...]:
        """Marks to be confirmed or placed again."""
        return tuple(mark for mark in self.marks if not mark.sure)

    @property
    def doubtful(self) -> frozenset[tuple[str, str]]:
        """(who, 'mouth', 'eyes' or 'body') whose marks are not all there, so that what is measured by them means little until a person confirms them.

        A mouth and eyes are learnt from every frame that was placed; a mark that is followed by its texture needs one.
        """
        return still_doubtful(self.unsure, self.cast)


def still_doubtful(unsure: Sequence[CarriedMark], cast: Cast) -> frozenset[tuple[str, str]]:
    """(who, part) as in CarriedCast.doubtful, that are still so once some marks were placed. cast : the new take's, as it is now"""
    spots = {(owner.name, name): {spot.frame for spot in placed} for owner in cast.marked for name, placed in owner.marks.items()}
    found = set()
    for one in unsure:
        frames = spots.get((one.who, one.mark), set())
        learnt = _learnt_from(one.mark)
        if learnt and (one.new is None or one.new.frame not in frames):
            found |= {(one.who, part) for part in learnt}
        elif not learnt and not frames:
            found.add((one.who, "body"))
    return frozenset(found)


def _learnt_from(mark: str) -> tuple[str, ...]:
    """What is learnt from the looks of a mark's frames."""
    return (*(("mouth",) if mark in MOUTH_MARKS else ()), *(("eyes",) if mark in EYE_MARKS else ()))


def carry_cast(cast: Cast, lined_up: FrameMap, old_first: int, new_first: int, old: Pictures, new: Pictures) -> CarriedCast:
    """The old take's cast for the new one. old_first, new_first : the numbers shown for the takes' first pictures; old, new : their pictures

    A mark is never put on another person silently: where its looks are not found again, or at two places, it is left out of the cast and told as unsure.
    """
    was, now = Numbering(old_first), Numbering(new_first)
    ordered = sorted(
        ((spot.frame, owner.name, name, spot) for owner in cast.marked for name, spots in owner.marks.items() for spot in spots),
        key=lambda entry: entry[:3],
    )
    found = tuple(_carried(who, mark, spot, lined_up, was, now, old, new) for _, who, mark, spot in ordered)
    sure = {(m.who, m.mark, m.old.frame, m.old.x, m.old.y): m.new for m in found if m.sure and m.new is not None}
    return CarriedCast(
        cast.model_copy(
            update={
                "characters": tuple(_with(owner, sure) for owner in cast.characters),
                "props": tuple(_with(owner, sure) for owner in cast.props),
                "contacts": _ranges(cast.contacts, lined_up, was, now),
                "looks": _ranges(cast.looks, lined_up, was, now),
                "cameras": _ranges(cast.cameras, lined_up, was, now),
            }
        ),
        found,
    )


Owner = TypeVar("Owner", bound=Marked)


def _with(owner: Owner, sure: dict[tuple[str, str, int, float, float], Placed]) -> Owner:
    marks: dict[str, tuple[Placed, ...]] = {}
    for name, spots in owner.marks.items():
        there = [sure[key] for spot in spots if (key := (owner.name, name, spot.frame, spot.x, spot.y)) in sure]
        by_frame = {spot.frame: spot for spot in there}
        if by_frame:
            marks[name] = tuple(by_frame[frame] for frame in sorted(by_frame))
    return owner.model_copy(update={"marks": marks})


def _ranges(parts: tuple[Ranged, ...], lined_up: FrameMap, was: Numbering, now: Numbering) -> tuple[Ranged, ...]:
    """Ranges of frames on their new frames; those whose frames are all gone fall away, those over the whole shot stay so."""
    found = []
    for part in parts:
        if part.first is None and part.last is None:
            found.append(part)
            continue
        first = 0 if part.first is None else max(0, was.index(part.first))
        last = len(lined_up.new_of) - 1 if part.last is None else min(was.index(part.last), len(lined_up.new_of) - 1)
        span = lined_up.span(Span(first, last + 1)) if first <= last else None
        if span is not None:
            found.append(part.model_copy(update={"first": now.shown(span.start), "last": now.shown(span.last)}))
    return tuple(found)


def _carried(
    who: str, mark: str, spot: Placed, lined_up: FrameMap, was: Numbering, now: Numbering, old: Pictures, new: Pictures
) -> CarriedMark:
    at = was.index(spot.frame)
    there = lined_up(at)
    if there is None:
        return CarriedMark(who, mark, spot, None, 0.0, False)
    x, y, likeness, sure = found_again(old(at), new(there), (spot.x, spot.y), lined_up)
    return CarriedMark(who, mark, spot, Placed(frame=now.shown(there), x=x, y=y), round(likeness, 3), sure)


def found_again(before: Picture, after: Picture, place: tuple[float, float], lined_up: FrameMap) -> tuple[float, float, float, bool]:
    """Where a point of the old picture lies on the new one, x and y as fractions; its likeness there; and whether that is sure.

    before, after : luma, uint8 [shape=(h, w)]; place : fractions of the old picture
    """
    expected = _framed(place, lined_up)
    scale = _scale(lined_up)
    side = max(5, round(RADIUS * after.shape[1]))
    patch = _cut(before, place, side, scale)
    around = _cut(after, expected, side + round(REACH * after.shape[1]), 1.0)
    if _stayed(before, after, place, expected, lined_up, WIDER * side):
        return *expected, 1.0, True
    if patch is None or around is None or float(patch.std()) < FLAT:
        return *expected, 0.0, False
    scores = cv2.matchTemplate(around, patch, cv2.TM_CCOEFF_NORMED)
    _, best, _, (px, py) = cv2.minMaxLoc(scores)
    others = scores.copy()
    others[max(0, py - APART) : py + APART + 1, max(0, px - APART) : px + APART + 1] = -1
    sure = best >= LIKE and best - float(others.max()) >= ALONE
    if not sure:
        return *expected, float(best), False
    middle = (np.array(scores.shape[::-1]) - 1) / 2
    off = np.array([px + _peak(scores[py], px), py + _peak(scores[:, px], py)]) - middle
    high, wide = after.shape
    return expected[0] + float(off[0]) / wide, expected[1] + float(off[1]) / high, float(best), True


def _stayed(
    before: Picture, after: Picture, place: tuple[float, float], expected: tuple[float, float], lined_up: FrameMap, side: int
) -> bool:
    """Whether nothing changed around a place: then it is where it was, however plain or common its looks are."""
    one, other = _cut(before, place, side, _scale(lined_up)), _cut(after, expected, side, 1.0)
    if one is None or other is None or float(one.std()) < FLAT:
        return False
    seen = one.astype(np.float32)
    if lined_up.sight is not None:
        seen = np.interp(seen, lined_up.sight.grade_from, lined_up.sight.grade_to).astype(np.float32)
    apart = cv2.GaussianBlur(np.abs(seen - other), (0, 0), SOFT)
    return bool(float(apart.mean()) < SAME_MEAN and float(apart.max()) < SAME_MOST)


def _peak(values: npt.NDArray[np.float32], at: int) -> float:
    """Part of a step by which a parabola through a peak lies off it."""
    if not 0 < at < len(values) - 1:
        return 0.0
    left, top, right = (float(v) for v in values[at - 1 : at + 2])
    below = left - 2 * top + right
    return 0.5 * (left - right) / below if below < 0 else 0.0


def _framed(place: tuple[float, float], lined_up: FrameMap) -> tuple[float, float]:
    """A place of the old picture in the new one's framing."""
    if lined_up.sight is None or not lined_up.sight.reframed:
        return place
    high, wide = lined_up.sight.shown.shape
    back = cv2.invertAffineTransform(lined_up.sight.framing)
    x, y = back @ np.array([place[0] * wide - 0.5, place[1] * high - 0.5, 1])
    return float((x + 0.5) / wide), float((y + 0.5) / high)


def _scale(lined_up: FrameMap) -> float:
    """How much larger things are on the new picture."""
    if lined_up.sight is None or not lined_up.sight.reframed:
        return 1.0
    return 1 / float(np.sqrt(abs(np.linalg.det(lined_up.sight.framing[:, :2]))))


def _cut(picture: Picture, place: tuple[float, float], side: int, scale: float) -> Picture | None:
    """uint8 [shape=(2 side + 1, 2 side + 1)] about a place, exact to parts of a px, enlarged; None where its middle lies outside."""
    high, wide = picture.shape
    x, y = place[0] * wide - 0.5, place[1] * high - 0.5
    if not (0 <= x < wide and 0 <= y < high):
        return None
    to_patch = np.array([[1 / scale, 0, x - side / scale], [0, 1 / scale, y - side / scale]])
    size = (2 * side + 1, 2 * side + 1)
    flags = cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP
    return np.asarray(cv2.warpAffine(picture, to_patch, size, flags=flags, borderMode=cv2.BORDER_REPLICATE), np.uint8)
