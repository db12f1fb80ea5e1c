"""Following patches from one frame to the next: flow proposes, the anchor's template decides, and what is lost says so.

Flow alone drifts; a template alone jumps. Pyramidal Lucas-Kanade (Bouguet 1999) carries each patch over the frame's movement and back again
(forward-backward error, Kalal, Mikolajczyk & Matas 2010); registration to the template of the anchor then takes
the drift out. Where the look of a thing has changed for good (it turned), a newer template is cut, and its error is carried along.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, fields

import numpy as np
import numpy.typing as npt

from shotcrit.readings.picture.marks.flow import Pair, View, flow
from shotcrit.readings.picture.marks.register import FEW, Fit, Templates, Wanted, joined, make_templates, register
from shotcrit.readings.picture.marks.seek import LOOSE, Sought, alone, same_shape, sights
from shotcrit.readings.picture.marks.tiles import Tiles, tiles_of

Floats = npt.NDArray[np.float32]
Bools = npt.NDArray[np.bool_]
Rows = npt.NDArray[np.intp]
Picture = npt.NDArray[np.uint8]

HELD = 0.8
"""Likeness, of the pixels that fit, under which a mark is lost (guess, set on generated occlusions; Kalal et al. reject below the median)."""
WHOLE = 0.5
"""The same of the whole window: half of it may be covered as long as the middle is not (guess)."""
BARE = 0.5
"""Share of the mark's own middle that must be seen (guess): half covered is covered."""
FRESH = 0.92
"""Likeness of the whole window under which a newer template is cut, when nothing stands in front (guess)."""
FRAY = 1.5
"""px; a flow that comes back further away than this is no witness (guess: a covered patch comes back further away than this)."""
TWIST = 2.5
"""A patch that grew or shrank by more than this since its template is not the same patch (guess)."""
SWELL = 1.25
"""Nor is one whose area changed by more than this from one frame to the next (guess)."""
STRAY = 2.5
"""px; registration may move a patch this far from a sound flow's proposal (guess)."""
DOUBT = 0.1
"""px; added to the error where the flow was no witness (guess)."""
EAGER = 12
"""Frames for which a lost mark is looked for on every frame."""
SELDOM = 6
"""After that it is looked for on every so many, to save time; companions, of which there are others, are never looked for more often."""
TRY_EVERY = 3
"""Frames between two tries to go back to the anchor's own template."""
SURE = 0.9
"""Likeness that is asked for where flow does not vouch for the place; higher than HELD for that reason (guess)."""
NEAR = 6.0
"""px from a tile's middle beyond which a start gets a tile of its own."""
HOPELESS = 0.7
"""Likeness of the whole window after a few steps under which neither of these comes of a fit, nor a rival to one: on the demo film none of 1207 such fits
ended above 0.89."""


@dataclass
class Patches:
    """The state of patches, each on the frame that its way has come to; one row a patch.

    warps : float32 [shape=(n, 2, 3)] from anchor patch px to frame px; anchor, key : templates; key_error : px, of the newer template
    usual : residual so far, grey; lost : not seen on this frame; error : standard error, px; speed : px a frame
    gone : frames since it was seen; keen : whether it is looked for on every frame once it is lost, or seldom
    age : frames since the anchor; way : number of the way that it goes
    """

    warps: Floats
    anchor: Templates
    key: Templates
    key_error: Floats
    usual: Floats
    lost: Bools
    error: Floats
    speed: Floats
    gone: Floats
    keen: Bools
    age: Floats
    way: Rows

    def pick(self, rows: Rows) -> Patches:
        def part(name: str) -> object:
            own = getattr(self, name)
            return own.pick(rows) if isinstance(own, Templates) else own[rows]

        return Patches(*(part(field.name) for field in fields(self)))  # type: ignore[arg-type]


def place(picture: Picture, spots: Floats, way: int, *, keen: bool = True) -> Patches:
    """Patches at `spots`, float32 [shape=(n, 2)], on the anchor's frame."""
    count = len(spots)
    warps = np.tile(np.eye(2, 3, dtype=np.float32), (count, 1, 1))
    warps[:, :, 2] = spots
    templates = make_templates(tiles_of(picture, spots), np.arange(count), warps)
    zero = np.zeros(count, np.float32)
    return Patches(
        warps, templates, templates.pick(np.arange(count)), zero, np.full(count, np.nan, np.float32), np.zeros(count, bool), zero.copy(),
        np.zeros((count, 2), np.float32), zero.copy(), np.full(count, keen), zero.copy(), np.full(count, way, np.intp),
    )  # fmt: skip


def join(parts: list[Patches]) -> Patches:
    """Rows of all parts, one after the other."""

    def both(name: str) -> object:
        own = [getattr(part, name) for part in parts]
        return joined(own) if isinstance(own[0], Templates) else np.concatenate(own)

    return parts[0] if len(parts) == 1 else Patches(*(both(field.name) for field in fields(Patches)))  # type: ignore[arg-type]


def advance(ways: Mapping[int, tuple[View, View]], patches: Patches) -> None:
    """Take `patches` one frame on, each from the frame before to the one after of its way, in place. All are fitted in one go."""
    patches.age += 1
    held = np.flatnonzero(~patches.lost)
    patches.gone[patches.lost] += 1
    sought = _seek(ways, patches, held)
    if not len(held) and not len(sought.owner):
        return
    part = patches.pick(held)
    start, miss, tiles = _propose(ways, part)
    sought.fill(tiles, len(held), {way: after.luma for way, (_, after) in ways.items()}, patches.way)
    tiles.smooth()
    rows, aged = np.arange(len(held)), np.flatnonzero((part.key_error > 0) & (part.age % TRY_EVERY == 0))
    again = Wanted(part.anchor.pick(aged), aged, start[aged], part.usual[aged], hopeless=HOPELESS)
    seen = Wanted(patches.key.pick(sought.owner), sought.tile, sought.warps, patches.usual[sought.owner], hopeless=HOPELESS)
    fit, older, new = register(tiles, [Wanted(part.key, rows, start, part.usual, most=FEW), again, seen])
    _back_to_anchor(part, fit, older, aged)
    good = _holds({way: after.luma.shape for way, (_, after) in ways.items()}, part.way, fit, start, miss < FRAY)
    _write(patches, held, fit, good, miss, part.key_error)
    patches.gone[held[~good]] = 1
    back = np.flatnonzero(good & (part.key_error == 0) & (patches.key_error[held] > 0))
    patches.key.put(held[back], part.anchor.pick(back))
    patches.key_error[held[good]] = part.key_error[good]
    _renew(tiles, patches, held, np.flatnonzero(good & (fit.whole < FRESH) & (fit.seen > 0.8) & (fit.centre > 0.9)))
    _found_again(patches, sought, new)


def _seek(ways: Mapping[int, tuple[View, View]], patches: Patches, held: Rows) -> Sought:
    """Places where marks that were lost before may be."""
    due = patches.lost & ((patches.keen & (patches.gone <= EAGER)) | (patches.gone % SELDOM == 0))
    due[held] = False
    rows = np.flatnonzero(due)
    found = [
        sights(ways[way][1].luma, patches.key.grey(row), patches.warps[row], float(patches.gone[row]))
        for row, way in zip(rows.tolist(), patches.way[rows].tolist(), strict=True)
    ]
    return Sought(rows, found, patches.warps)


def _propose(ways: Mapping[int, tuple[View, View]], part: Patches) -> tuple[Floats, Floats, Tiles]:
    """(where to start, forward-backward error, tiles of the frames after about the starts)."""
    old = part.warps[:, :, 2]
    pairs = [Pair(before, after, np.flatnonzero(part.way == way)) for way, (before, after) in ways.items()]
    there, miss, tiles = flow([pair for pair in pairs if len(pair.rows)], old)
    start = part.warps.copy()
    start[:, :, 2] = np.where((miss < FRAY)[:, None], there, old + part.speed)
    far = np.flatnonzero(tiles.off(np.arange(len(old)), start[:, :, 2]) > NEAR)
    tiles.put(far.tolist(), [ways[way][1].luma for way in part.way[far].tolist()], start[far, :, 2])
    return start, miss, tiles


def _back_to_anchor(part: Patches, fit: Fit, older: Fit, aged: Rows) -> None:
    """Where a newer template is in use, go back to the anchor's own as soon as it fits again: that ends the drift."""
    apart = np.linalg.norm(older.warps[:, :, 2] - fit.warps[aged, :, 2], axis=1)
    better = (older.whole > FRESH) & (older.centre > 0.8) & (apart < 3 * np.hypot(part.key_error[aged], fit.error[aged]) + 0.5)
    rows = aged[better]
    for field in fields(Fit):
        getattr(fit, field.name)[rows] = getattr(older, field.name)[better]
    part.key_error[rows] = 0


def _holds(shapes: Mapping[int, tuple[int, ...]], way: Rows, fit: Fit, proposed: Floats, sound: Bools) -> Bools:
    """Which fits are the mark. shapes : (height, width) by way; proposed : warps before registration; sound : whether flow vouches for them."""
    spot = fit.warps[:, :, 2]
    high, wide = np.array([shapes[one] for one in way.tolist()]).reshape(-1, 2).T
    inside = (spot[:, 0] > 1) & (spot[:, 1] > 1) & (spot[:, 0] < wide - 2) & (spot[:, 1] < high - 2)
    size = np.abs(np.linalg.det(fit.warps[:, :, :2]))
    swell = size / np.maximum(np.abs(np.linalg.det(proposed[:, :, :2])), 1e-6)
    firm = (size > TWIST**-2) & (size < TWIST**2) & (swell < SWELL) & (swell > 1 / SWELL)
    near = np.linalg.norm(spot - proposed[:, :, 2], axis=1) < np.where(sound, STRAY, LOOSE)
    same = (fit.likeness > np.where(sound, HELD, SURE)) & (fit.whole > WHOLE) & (fit.centre > BARE) & (fit.seen > BARE)
    return np.asarray(inside & firm & near & same)


def _write(patches: Patches, held: Rows, fit: Fit, good: Bools, miss: Floats, key_error: Floats) -> None:
    """Note where patches lie now. miss : of the flow, px; key_error : what their template's own error is, px"""
    patches.lost[held] = ~good
    rows = held[good]
    doubt = np.where(miss[good] < FRAY, 0.25 * np.minimum(miss[good], FRAY), DOUBT)
    patches.gone[rows] = 0
    patches.speed[rows] = fit.warps[good, :, 2] - patches.warps[rows, :, 2]
    patches.warps[rows] = fit.warps[good]
    patches.error[rows] = np.sqrt(fit.error[good] ** 2 + key_error[good] ** 2 + doubt**2)
    known = np.where(np.isfinite(patches.usual[rows]), patches.usual[rows], fit.scale[good])
    patches.usual[rows] = 0.8 * known + 0.2 * fit.scale[good]


def _renew(tiles: Tiles, patches: Patches, held: Rows, which: Rows) -> None:
    """Cut newer templates where they lie; they stay in the anchor's coordinates."""
    if len(which):
        rows = held[which]
        patches.key.put(rows, make_templates(tiles, which, patches.warps[rows]))
        patches.key_error[rows] = patches.error[rows]


def _found_again(patches: Patches, sought: Sought, fit: Fit) -> None:
    """Believe only a single, clear sight of each."""
    good = same_shape(fit.warps, sought.warps) & (fit.centre > 0.9) & (fit.seen > BARE)
    for row in dict.fromkeys(sought.owner.tolist()):
        found = alone(fit, good, sought.owner == row)
        if found is not None:
            one = np.array([row])
            _write(patches, one, found, np.array([True]), np.array([FRAY], np.float32), patches.key_error[one])
            patches.speed[one] = 0


__all__ = ["Patches", "advance", "join", "place"]
