"""Marks of a body on plain cloth, followed across their outline from every frame on which they were placed; and what else could be marked there."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import cv2
import numpy as np
import numpy.typing as npt

from shotcrit.clock import Span
from shotcrit.readings.acting import Across, MarkTrack, Spot
from shotcrit.readings.cast import Cast
from shotcrit.readings.picture.marks.frames import FrameStore
from shotcrit.readings.picture.marks.outline import Beforehand, Outline, find_again, find_outline
from shotcrit.readings.picture.marks.region import BLAND
from shotcrit.readings.picture.marks.step import place
from shotcrit.readings.picture.marks.tiles import smoothed
from shotcrit.readings.shots import shots_between

Floats = npt.NDArray[np.float64]

BODY = ("chest", "shoulder_left", "shoulder_right")
"""Marks whose height alone is worth knowing: a breath lifts them."""
WORST = 3.0
"""px at working size; a height less sure than this is none (as in follow.py)."""
SIDEWAYS = 2.0
"""px at working size by which a shoulder may go sideways against the other marks of its body (guess: a body bends)."""
UPWARD = 20.0
"""px at working size; of the height, nothing is known beforehand (guess)."""
STRAY = 0.5
"""px a frame by which the movement along grows uncertain where no other mark of the character is followed (guess)."""
PATIENCE = 6
"""Frames that the outline may be hidden; after that it is not looked for, since another edge may have come to its place (guess)."""
ENOUGH = 0.8
"""Share of a shot's frames on which a mark must be followed, surer than SURE; where it is not, another spot is offered (guess)."""
SURE = 1.0
"""px at working size."""
AROUND, OFF = 48, 6
"""px at working size; how far from a mark another spot is looked for, and how far it stays off an outline (guess)."""


def with_outlines(
    store: FrameStore, cast: Cast, cuts: Sequence[int], size: tuple[int, int], tracks: Sequence[MarkTrack]
) -> tuple[MarkTrack, ...]:
    """The tracks; those of a character's body that have no texture of their own get `across` and, where that fails too, `instead`.

    size : (width, height) of the full-size frame. Needs the tracks of all marks of a character: its other marks say how the body went sideways.
    """
    people = {person.name for person in cast.characters}
    spans = shots_between(cuts, len(store))
    scale = size[0] / store.size[0]

    def one(track: MarkTrack) -> MarkTrack:
        if track.who not in people or track.mark not in BODY or not track.placed:
            return track
        plain = [i for i in track.placed if _is_plain(store, track, i)]
        if not plain:
            return track
        others = [t for t in tracks if t.who == track.who and t.mark != track.mark and t.mark not in BODY]
        found = _across(store, spans, track, plain, others, scale)
        return replace(track, across=found, instead=_instead(store, spans, track, found, scale))

    return tuple(one(track) for track in tracks)


def _px(store: FrameStore, track: MarkTrack) -> Floats:
    """Places in px of the working size, [shape=(n_frames, 2)]."""
    return np.asarray(track.xy, np.float64) * store.size - 0.5


def _spot(store: FrameStore, track: MarkTrack, index: int) -> tuple[float, float]:
    x, y = _px(store, track)[index].tolist()
    return x, y


def _is_plain(store: FrameStore, track: MarkTrack, index: int) -> bool:
    """Whether nothing at the mark can be followed both ways."""
    x, y = _spot(store, track, index)
    wide, high = store.size
    if not (0 <= x < wide and 0 <= y < high):
        return False
    return bool(place(store[index], np.array([[x, y]], np.float32), 0).anchor.loose[0] > BLAND)


def _across(
    store: FrameStore, spans: Sequence[Span], track: MarkTrack, anchors: Sequence[int], others: Sequence[MarkTrack], scale: float
) -> Across | None:
    """Heights from all anchors; between two, each counts by how near it is."""
    frames, high = len(store), store.size[1]
    total, share = np.zeros((3, frames)), np.zeros(frames)
    for shot in spans:
        own = sorted(i for i in anchors if i in shot)
        for k, anchor in enumerate(own):
            outline = find_outline(store[anchor], _spot(store, track, anchor))
            if outline is None:
                continue
            first = own[k - 1] if k else shot.start
            stop = own[k + 1] + 1 if k + 1 < len(own) else shot.stop
            rows = _from_anchor(store, outline, anchor, Span(first, stop), _carried(store, others, anchor))
            rows[0] += _spot(store, track, anchor)[1]
            weight = np.where(np.isfinite(rows).all(0), _say(anchor, first, stop, frames, ends=(k == 0, k + 1 == len(own))), 0)
            total += weight * np.nan_to_num(rows)
            share += weight
    if not share.any():
        return None
    height, noise, error = np.where(share > 0, total / np.where(share > 0, share, 1), np.nan)
    return Across(((height + 0.5) / high).astype(np.float32), (error * scale).astype(np.float32), (noise * scale).astype(np.float32))


def _say(anchor: int, first: int, stop: int, frames: int, *, ends: tuple[bool, bool]) -> Floats:
    """How much an anchor counts on each frame: 1 at itself, falling to its neighbours' frames; towards the shot's ends it stays."""
    index = np.arange(frames)
    before = np.ones(frames) if ends[0] else (index - first) / max(anchor - first, 1)
    after = np.ones(frames) if ends[1] else (stop - 1 - index) / max(stop - 1 - anchor, 1)
    return np.asarray(np.clip(np.where(index < anchor, before, after), 1e-6, 1))


def _carried(store: FrameStore, others: Sequence[MarkTrack], anchor: int) -> tuple[Floats, Floats]:
    """(way of the character's other marks since the anchor, its standard error), px [shape=(n_frames, 2)], [shape=(n_frames,)]; nan where none is followed."""
    frames = len(store)
    way, error = np.full((frames, 2), np.nan), np.full(frames, np.nan)
    paths = [_px(store, t) - _px(store, t)[anchor] for t in others if np.isfinite(t.xy[anchor]).all()]
    for index in range(frames if paths else 0):
        there = np.array([p[index] for p in paths if np.isfinite(p[index]).all()])
        if len(there):
            way[index] = np.median(there, axis=0)
            error[index] = np.hypot(SIDEWAYS, float(np.std(there[:, 0])))
    return way, error


def _from_anchor(store: FrameStore, outline: Outline, anchor: int, span: Span, carried: tuple[Floats, Floats]) -> Floats:
    """[shape=(3, n_frames)]: height against the anchor's frame (down is positive), its noise, its error; px; nan where not followed."""
    rows = np.full((3, len(store)), np.nan)
    rows[:, anchor] = 0.0
    for order in (range(anchor + 1, span.stop), range(anchor - 1, span.start - 1, -1)):
        at, speed, last, gone = np.zeros(2), np.zeros(2), anchor, 0
        for index in order:
            before = _beforehand(carried, index, at, abs(index - anchor))
            moved = carried[0][index] - carried[0][last]
            guess = at + (moved if np.isfinite(moved).all() else speed * abs(index - last))
            found = find_again(store[index], outline, guess, before)
            if found is None or found[2] > WORST:
                gone += 1
                if gone > PATIENCE:
                    break
                continue
            speed, at, last, gone = (found[0] - at) / abs(index - last), found[0], index, 0
            rows[:, index] = at[1], found[1], found[2]
    return rows


def _beforehand(carried: tuple[Floats, Floats], index: int, at: Floats, age: int) -> Beforehand:
    if np.isfinite(carried[1][index]):
        return Beforehand(carried[0][index], np.array([carried[1][index], UPWARD]))
    return Beforehand(at, np.array([SIDEWAYS + STRAY * age, UPWARD]))


def _instead(store: FrameStore, spans: Sequence[Span], track: MarkTrack, found: Across | None, scale: float) -> Spot | None:
    """Another spot near the mark that can be followed, where the mark is followed neither by its texture nor across its outline."""
    error = np.asarray(track.error_px, np.float64)
    for shot in spans:
        own = [i for i in track.placed if i in shot]
        cut = slice(shot.start, shot.stop)
        sure = error[cut] <= SURE * scale
        if found is not None:
            sure |= found.error_px[cut] <= SURE * scale
        if own and sure.mean() < ENOUGH:
            spot = nearby(store[own[0]], _spot(store, track, own[0]))
            if spot is not None:
                x, y = ((v + 0.5) / n for v, n in zip(spot, store.size, strict=True))
                return Spot(own[0], x, y)
    return None


def nearby(picture: npt.NDArray[np.uint8], spot: tuple[float, float]) -> tuple[float, float] | None:
    """The best corner (least eigenvalue of the slopes' products, Shi & Tomasi 1994) of the body about a mark, px: below its outline, and off it."""
    high, wide = picture.shape
    y, x = np.mgrid[0:high, 0:wide]
    mask = (np.hypot(x - spot[0], y - spot[1]) <= AROUND) & (np.hypot(x - spot[0], y - spot[1]) > OFF)
    outline = find_outline(picture, spot)
    if outline is not None:
        middle, up = outline.spots.mean(0), outline.normals.mean(0)
        mask &= (x - middle[0]) * up[0] + (y - middle[1]) * up[1] < -OFF
    corners = cv2.goodFeaturesToTrack(smoothed(picture), 6, 0.3, 6, mask=mask.astype(np.uint8), blockSize=7)
    if corners is None:
        return None
    spots = corners.reshape(-1, 2).astype(np.float32)
    loose = place(picture, spots, 0).anchor.loose
    best = int(np.argmin(loose))
    return (float(spots[best, 0]), float(spots[best, 1])) if loose[best] <= BLAND else None


__all__ = ["BODY", "nearby", "with_outlines"]
