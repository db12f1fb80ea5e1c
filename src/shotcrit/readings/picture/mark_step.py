"""Following patches from one frame to the next: flow proposes, the anchor's template decides, and what is lost says so.

Flow alone drifts; a template alone jumps. Pyramidal Lucas-Kanade (Bouguet 1999) carries each patch over the frame's movement and back again
(forward-backward error, Kalal, Mikolajczyk & Matas 2010, references.md 13.1); registration to the template of the anchor then takes
the drift out. Where the look of a thing has changed for good (it turned), a newer template is cut, and its error is carried along.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import cv2
import numpy as np
import numpy.typing as npt

from shotcrit.readings.picture.mark_register import FEW, RADIUS, Fit, Templates, cut, make_templates, register

Floats = npt.NDArray[np.float32]
Bools = npt.NDArray[np.bool_]
Picture = npt.NDArray[np.uint8]

FLOW: dict[str, Any] = {"winSize": (21, 21), "maxLevel": 4, "criteria": (cv2.TERM_CRITERIA_EPS | cv2.TERM_CRITERIA_COUNT, 20, 0.02)}
HELD = 0.8
"""Likeness, of the pixels that fit, under which a mark is lost (guess, set on generated occlusions; Kalal et al. reject below the median)."""
WHOLE = 0.5
"""The same of the whole window: half of it may be covered as long as the middle is not (guess)."""
BARE = 0.5
"""Share of the mark's own middle that must be seen (guess): half covered is covered."""
FRESH = 0.92
"""Likeness of the whole window under which a newer template is cut, when nothing stands in front (guess)."""
FRAY = 1.5
"""px; a flow that comes back further away than this is no witness (references.md 13.1 drops above 1 px on a synthetic shift)."""
TWIST = 2.5
"""A patch that grew or shrank by more than this since its template is not the same patch (guess)."""
SWELL = 1.25
"""Nor is one whose area changed by more than this from one frame to the next (guess)."""
STRAY = 2.5
"""px; registration may move a patch this far from a sound flow's proposal (guess)."""
LOOSE = 8.0
"""px; the same where the flow was no witness and the proposal is the last speed carried on (guess)."""
DOUBT = 0.1
"""px; added to the error where the flow was no witness (guess)."""
SEEK = (40, 6, 160)
"""px; how far around its last place a lost mark is looked for: at first, more with each frame, at most (guess)."""
EAGER = 12
"""Frames for which a lost mark is looked for on every frame."""
SELDOM = 6
"""After that it is looked for on every so many, to save time; companions, of which there are others, are never looked for more often."""
HINT = 0.6
"""Likeness of a place, before any fitting, under which it is not tried (guess)."""
LIKELY = 0.85
"""The same of the best of all places, under which none is tried (guess: on the demo film true finds have 0.95 and more)."""
TRY_EVERY = 3
"""Frames between two tries to go back to the anchor's own template."""
SURE = 0.9
"""Likeness that is asked for where flow does not vouch for the place; higher than HELD for that reason (guess)."""
FOUND = 0.96
"""Likeness of the whole window at which a lost mark counts as found again (guess: on generated films true finds have 0.98, false ones 0.94)."""
HOPELESS = 0.7
"""Likeness of the whole window after a few steps under which neither of these comes of a fit, nor a rival to one: on the demo film none of 1207 such fits
ended above 0.89."""
ALONE = 0.06
"""How much liker the best place must be than the second best (guess)."""
SQUEEZE = 1.25
"""Ratio of a patch's two scales, against when it was last seen, above which it is another thing (guess)."""
GROWTH = 1.6
"""The same for the larger one (guess)."""
PEAKS = 4
"""Places that are tried."""


@dataclass
class Patches:
    """The state of patches on one frame; one row a patch.

    warps : float32 [shape=(n, 2, 3)] from anchor patch px to frame px; anchor, key : templates; key_error : px, of the newer template
    usual : residual so far, grey; lost : not seen on this frame; error : standard error, px; speed : px a frame
    gone : frames since it was seen; keen : whether it is looked for on every frame once it is lost, or seldom
    age : frames since the anchor
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

    def pick(self, rows: npt.NDArray[np.intp]) -> Patches:
        return Patches(
            self.warps[rows], self.anchor.pick(rows), self.key.pick(rows), self.key_error[rows], self.usual[rows], self.lost[rows],
            self.error[rows], self.speed[rows], self.gone[rows], self.keen[rows], self.age[rows],
        )  # fmt: skip


def place(picture: Picture, spots: Floats, *, keen: bool = True) -> Patches:
    """Patches at `spots`, float32 [shape=(n, 2)], on the anchor's frame (smoothed)."""
    count = len(spots)
    warps = np.tile(np.eye(2, 3, dtype=np.float32), (count, 1, 1))
    warps[:, :, 2] = spots
    templates = make_templates(picture, warps)
    key = Templates(templates.values.copy(), templates.slopes.copy(), templates.loose.copy())
    zero = np.zeros(count, np.float32)
    return Patches(
        warps, templates, key, zero, np.full(count, np.nan, np.float32), np.zeros(count, bool), zero.copy(), np.zeros((count, 2), np.float32),
        zero.copy(), np.full(count, keen), zero.copy(),
    )  # fmt: skip


def join(parts: list[Patches]) -> Patches:
    """Rows of all parts, one after the other."""

    def stack(name: str) -> npt.NDArray[np.float32]:
        return np.concatenate([getattr(p, name) for p in parts])

    def templates(name: str) -> Templates:
        own = [getattr(p, name) for p in parts]
        return Templates(*(np.concatenate([getattr(t, field) for t in own]) for field in ("values", "slopes", "loose")))

    lost, keen = (np.concatenate([getattr(p, name) for p in parts]) for name in ("lost", "keen"))
    names = ("warps", "key_error", "usual", "error", "speed", "gone", "age")
    warps, key_error, usual, error, speed, gone, age = (stack(name) for name in names)
    return Patches(warps, templates("anchor"), templates("key"), key_error, usual, lost, error, speed, gone, keen, age)


def flow(before: Picture, after: Picture, spots: Floats) -> tuple[Floats, Floats]:
    """Where `spots` went, and the forward-backward error, px; inf where the flow gave up."""
    start = spots.reshape(-1, 1, 2).astype(np.float32)
    there, ok, _ = cv2.calcOpticalFlowPyrLK(before, after, start, None, **FLOW)
    back, ok_back, _ = cv2.calcOpticalFlowPyrLK(after, before, there, None, **FLOW)
    miss = np.linalg.norm((back - start).reshape(-1, 2), axis=1)
    miss[(ok.ravel() == 0) | (ok_back.ravel() == 0)] = np.inf
    return there.reshape(-1, 2), miss.astype(np.float32)


def advance(before: Picture, after: Picture, raw: tuple[Picture, Picture], patches: Patches) -> None:
    """Take `patches` from frame `before` to `after` (smoothed; `raw` the same two as read), in place."""
    patches.age += 1
    held = np.flatnonzero(~patches.lost)
    if len(held):
        _carry(after, raw, patches, held)
    patches.gone[patches.lost] += 1
    due = patches.lost & ((patches.keen & (patches.gone <= EAGER)) | (patches.gone % SELDOM == 0))
    due[held] = False
    _look_again(after, patches, np.flatnonzero(due))


def _carry(after: Picture, raw: tuple[Picture, Picture], patches: Patches, held: npt.NDArray[np.intp]) -> None:
    old = patches.warps[held, :, 2]
    there, miss = flow(raw[0], raw[1], old)
    sound = miss < FRAY
    there = np.where(sound[:, None], there, old + patches.speed[held])
    start = patches.warps[held].copy()
    start[:, :, 2] = there
    part = patches.pick(held)
    fit = register(after, part.key, start, part.usual, steps=FEW)
    aged = np.flatnonzero((part.key_error > 0) & (part.age % TRY_EVERY == 0))
    if len(aged):
        _try_anchor(after, part, fit, aged)
    good = _holds(after, fit, start, sound)
    _write(patches, held, fit, good, old, miss, part.key_error)
    _renew(after, patches, held[good & (fit.whole < FRESH) & (fit.seen > 0.8) & (fit.centre > 0.9)])


def _try_anchor(after: Picture, part: Patches, fit: Fit, aged: npt.NDArray[np.intp]) -> None:
    """Where a newer template is in use, go back to the anchor's own as soon as it fits again: that ends the drift."""
    again = register(after, part.anchor.pick(aged), fit.warps[aged], part.usual[aged], hopeless=HOPELESS)
    apart = np.linalg.norm(again.warps[:, :, 2] - fit.warps[aged, :, 2], axis=1)
    better = (again.whole > FRESH) & (again.centre > 0.8) & (apart < 3 * np.hypot(part.key_error[aged], fit.error[aged]) + 0.5)
    for source, row in zip(np.flatnonzero(better), aged[better], strict=True):
        for name in ("warps", "likeness", "whole", "scale", "centre", "seen", "error"):
            getattr(fit, name)[row] = getattr(again, name)[source]
        part.key_error[row] = 0
        part.key.put(int(row), part.anchor.pick(np.array([row])))


def _holds(after: Picture, fit: Fit, proposed: Floats, sound: Bools) -> Bools:
    """Which fits are the mark. proposed : warps before registration; sound : whether flow vouches for them."""
    spot = fit.warps[:, :, 2]
    high, wide = after.shape
    inside = (spot[:, 0] > 1) & (spot[:, 1] > 1) & (spot[:, 0] < wide - 2) & (spot[:, 1] < high - 2)
    size = np.abs(np.linalg.det(fit.warps[:, :, :2]))
    swell = size / np.maximum(np.abs(np.linalg.det(proposed[:, :, :2])), 1e-6)
    firm = (size > TWIST**-2) & (size < TWIST**2) & (swell < SWELL) & (swell > 1 / SWELL)
    near = np.linalg.norm(spot - proposed[:, :, 2], axis=1) < np.where(sound, STRAY, LOOSE)
    same = (fit.likeness > np.where(sound, HELD, SURE)) & (fit.whole > WHOLE) & (fit.centre > BARE) & (fit.seen > BARE)
    return np.asarray(inside & firm & near & same)


def _write(patches: Patches, held: npt.NDArray[np.intp], fit: Fit, good: Bools, old: Floats, miss: Floats, key_error: Floats) -> None:
    patches.lost[held[~good]] = True
    rows = held[good]
    doubt = np.where(miss[good] < FRAY, 0.25 * np.minimum(miss[good], FRAY), DOUBT)
    patches.gone[rows] = 0
    patches.warps[rows] = fit.warps[good]
    patches.speed[rows] = fit.warps[good, :, 2] - old[good]
    patches.key_error[rows] = key_error[good]
    patches.error[rows] = np.sqrt(fit.error[good] ** 2 + key_error[good] ** 2 + doubt**2)
    known = np.where(np.isfinite(patches.usual[rows]), patches.usual[rows], fit.scale[good])
    patches.usual[rows] = 0.8 * known + 0.2 * fit.scale[good]


def _renew(after: Picture, patches: Patches, rows: npt.NDArray[np.intp]) -> None:
    """Cut newer templates where they lie; they stay in the anchor's coordinates."""
    if not len(rows):
        return
    fresh = make_templates(after, patches.warps[rows])
    for source, row in enumerate(rows):
        patches.key.put(int(row), fresh.pick(np.array([source])))
        patches.key_error[row] = patches.error[row]


def _look_again(after: Picture, patches: Patches, rows: npt.NDArray[np.intp]) -> None:
    """Look for lost patches around their last places; believe only a single, clear sight of each. All are fitted in one go."""
    sights = [(row, spots) for row in map(int, rows) if len(spots := _sights(after, patches, row))]
    if not sights:
        return
    owner = np.repeat([row for row, _ in sights], [len(spots) for _, spots in sights])
    start = patches.warps[owner].copy()
    start[:, :, 2] = np.concatenate([spots for _, spots in sights])
    fit = register(after, patches.key.pick(owner), start, patches.usual[owner], hopeless=HOPELESS)
    good = _same_shape(fit.warps, start) & (fit.centre > 0.9) & (fit.seen > BARE)
    for row, _ in sights:
        found = _alone(fit, good, owner == row)
        if found is not None:
            one, spot = np.array([row]), found.warps[:, :, 2]
            patches.lost[row] = False
            _write(patches, one, found, np.array([True]), spot, np.array([FRAY], np.float32), patches.key_error[one])


def _sights(after: Picture, patches: Patches, row: int) -> Floats:
    """Places that look like a lost patch as it was last seen, float32 [shape=(PEAKS at most, 2)]."""
    high, wide = after.shape
    x, y = (float(v) for v in patches.warps[row, :, 2])
    reach = RADIUS + int(min(SEEK[0] + SEEK[1] * float(patches.gone[row]), SEEK[2]))
    left, top = max(0, int(x) - reach), max(0, int(y) - reach)
    area = after[top : min(high, int(y) + reach + 1), left : min(wide, int(x) + reach + 1)]
    look = _as_last_seen(patches, row)
    if area.shape[0] <= look.shape[0] or area.shape[1] <= look.shape[1]:
        return np.zeros((0, 2), np.float32)
    scores = cv2.matchTemplate(area, look, cv2.TM_CCOEFF_NORMED)
    return _peaks(scores) + np.array([left + look.shape[1] // 2, top + look.shape[0] // 2], np.float32)


def _same_shape(found: Floats, last: Floats) -> Bools:
    """Whether patches kept their shape since they were last seen: turned, grown a little, but not squeezed to fit."""
    change = np.linalg.svd(found[:, :, :2] @ np.linalg.inv(last[:, :, :2]), compute_uv=False)
    apart = np.linalg.norm(found[:, :, 2] - last[:, :, 2], axis=1)
    return np.asarray((change[:, 0] < SQUEEZE * change[:, 1]) & (change[:, 0] < GROWTH) & (change[:, 1] > 1 / GROWTH) & (apart < LOOSE))


def _alone(fit: Fit, good: Bools, own: Bools) -> Fit | None:
    """The one row of `fit`, of those in `own`, that is surely the mark: far better than any at another place."""
    fit, good = Fit(*(getattr(fit, name)[own] for name in Fit.__dataclass_fields__)), good[own]
    best = int(np.argmax(np.where(good, fit.whole, -1)))
    elsewhere = np.linalg.norm(fit.warps[:, :, 2] - fit.warps[best, :, 2], axis=1) > 2
    rival = float(np.max(fit.whole[elsewhere], initial=-1))
    if not good[best] or fit.whole[best] < FOUND or fit.whole[best] - rival < ALONE:
        return None
    return Fit(*(getattr(fit, name)[best : best + 1] for name in Fit.__dataclass_fields__))


def _as_last_seen(patches: Patches, row: int) -> Picture:
    """The template turned and scaled as the mark was when it was last seen: the largest square that it fills."""
    side = 2 * RADIUS + 1
    turn = patches.warps[row, :, :2].astype(np.float64)
    half = int(np.clip(RADIUS * 0.85 * np.sqrt(abs(np.linalg.det(turn))), 4, RADIUS))
    back = np.linalg.inv(turn)
    to_template = np.hstack([back, (RADIUS - back @ [half, half])[:, None]])
    template = np.clip(patches.key.values[row].reshape(side, side), 0, 255).astype(np.uint8)
    flags = cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP
    size = (2 * half + 1, 2 * half + 1)
    return np.asarray(cv2.warpAffine(template, to_template, size, flags=flags, borderMode=cv2.BORDER_REPLICATE), dtype=np.uint8)


def _peaks(scores: npt.NDArray[np.float32]) -> Floats:
    """The places of the best scores, float32 [shape=(PEAKS at most, 2)] x, y; none under HINT."""
    found: list[tuple[int, int]] = []
    if float(scores.max()) < LIKELY:
        return np.zeros((0, 2), np.float32)
    rest = scores.copy()
    for _ in range(PEAKS):
        _, best, _, (x, y) = cv2.minMaxLoc(rest)
        if best < HINT:
            break
        found.append((x, y))
        rest[max(0, y - 4) : y + 5, max(0, x - 4) : x + 5] = -1
    return np.array(found, np.float32).reshape(-1, 2)


__all__ = ["Patches", "advance", "cut", "flow", "join", "place"]
