"""Following every mark of a cast through the picture, both ways from each frame on which a person placed it."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

from shotcrit.clock import Numbering, Span
from shotcrit.progress import Progress, Quiet
from shotcrit.readings.acting import MarkTrack
from shotcrit.readings.cast import Cast
from shotcrit.readings.picture.marks.bolt import forget_bolts
from shotcrit.readings.picture.marks.error import turned_away
from shotcrit.readings.picture.marks.flow import View, view_of
from shotcrit.readings.picture.marks.frames import FrameStore, Luma, fill, work_size
from shotcrit.readings.picture.marks.region import BLAND, Region, companions, settle
from shotcrit.readings.picture.marks.step import Patches, advance, join, place
from shotcrit.readings.picture.side_by_side import Going, side_by_side
from shotcrit.readings.shots import shots_between

Floats = npt.NDArray[np.float32]

LEAST_ERROR = 0.05
"""px at working size; nothing is known better than this (guess: the fixed-point grid of image resampling is 1/32 px)."""
WORST = 3.0
"""px at working size; a place less sure than this is no place, the mark is lost (guess)."""
TELL_EVERY_S = 0.4
"""Seconds between looks at unfinished tracks: often enough to see them grow (guess)."""
Tell = Callable[[Sequence[MarkTrack]], None]
TOGETHER = 8
"""Ways that are gone abreast: what is done once for all of them pays from few on, and more would only need memory (guess)."""
AGE = 0.01
"""px a frame; how fast an anchor's say fades when two followings are blended (guess)."""


@dataclass
class Leg:
    """One mark followed from one anchor, over the part of the shot where that anchor has a say.

    anchor : index of the placed frame; first, stop : indices; spot : where it was placed, px of the working size
    xy, error, noise : float32 [shape=(n_frames, 2)], [shape=(n_frames,)] twice, px of the working size; nan where not followed. See MarkTrack
    """

    owner: int
    anchor: int
    first: int
    stop: int
    spot: tuple[float, float]
    xy: Floats
    error: Floats
    noise: Floats


@dataclass(frozen=True)
class Beside:
    """work : calls on() for each of its `frames`, at most"""

    frames: int
    work: Callable[[Going], None]


@dataclass
class Way:
    """One direction through one shot. step : 1 or -1; order : its frames, from the first anchor on; regions : of bland marks, with their legs"""

    step: int
    order: range
    legs: list[Leg]
    anchors: frozenset[int] = field(init=False)
    regions: list[tuple[Leg, Region]] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.anchors = frozenset(leg.anchor for leg in self.legs)


Live = list[tuple[int, Leg, Region | None, int]]
"""What each row of a Patches is: the way that it goes, and a leg's own mark (None, 0), or one of the companions of a region of it."""


def follow_marks(
    pictures: Iterable[tuple[int, Luma]],
    cast: Cast,
    cuts: Sequence[int],
    size: tuple[int, int],
    *,
    first_frame: int = 1,
    progress: Progress | None = None,
) -> tuple[MarkTrack, ...]:
    """Follow all marks of all characters and props.

    pictures : (index, luma) from 0 on, each once; luma is uint8 [shape=(height, width)] of any one size
    cuts : index of the first frame of each new shot; size : (width, height) of the full-size frame

    Returns a track for every mark that was placed, in the cast's order. The error is a standard error against the point as placed: it holds no
    guess about how well a person placed it. Raises ReadingError where pictures do not come one after the other.
    """
    with FrameStore(work_size(size)) as store:
        fill(store, pictures)
        return follow_in_store(store, cast, cuts, size, first_frame=first_frame, progress=progress)


def follow_in_store(
    store: FrameStore,
    cast: Cast,
    cuts: Sequence[int],
    size: tuple[int, int],
    *,
    first_frame: int = 1,
    progress: Progress | None = None,
    tell: Tell | None = None,
    beside: Sequence[Beside] = (),
) -> tuple[MarkTrack, ...]:
    """As follow_marks, on frames already stored. tell : is given all tracks as far as they go, a few times a second, and once at the end.

    beside : other work on the same frames, done on the other threads meanwhile
    """
    names, legs = _legs(store, cast, cuts, Numbering(first_frame))
    scale = size[0] / store.size[0]

    def so_far() -> tuple[MarkTrack, ...]:
        return tuple(_track(names[i], [leg for leg in legs if leg.owner == i], store, scale) for i in range(len(names)))

    watch = _Telling(progress or Quiet(), so_far, tell)
    ways = _ways(shots_between(cuts, len(store)), legs)
    total = sum(len(way.order) for way in ways) + sum(other.frames for other in beside)
    todo = [_bunch(store, ways[i : i + TOGETHER]) for i in range(0, len(ways), TOGETHER)] + [other.work for other in beside]
    side_by_side(todo, lambda done: watch.step("following marks", min(done * len(store) // max(total, 1), len(store)), len(store)))
    watch.step("following marks", len(store), len(store))
    tracks = so_far()
    if tell is not None:
        tell(tracks)
    return tracks


def unfollowed(store: FrameStore, cast: Cast, cuts: Sequence[int], size: tuple[int, int], *, first_frame: int = 1) -> tuple[MarkTrack, ...]:
    """The tracks that follow_in_store starts from, to the last digit: what is reckoned from the placed frames alone may begin before they are followed."""
    names, legs = _legs(store, cast, cuts, Numbering(first_frame))
    return tuple(_track(name, [leg for leg in legs if leg.owner == i], store, size[0] / store.size[0]) for i, name in enumerate(names))


def _ways(spans: Sequence[Span], legs: Sequence[Leg]) -> list[Way]:
    """All that are to be gone, the longest first, so that those that are gone together end about together."""
    ways = []
    for shot in spans:
        own = [leg for leg in legs if leg.anchor in shot]
        if own:
            first, last = min(leg.anchor for leg in own), max(leg.anchor for leg in own)
            ways += [Way(1, range(first, shot.stop), own), Way(-1, range(last, shot.start - 1, -1), own)]
    return sorted(ways, key=lambda way: -len(way.order))


def _bunch(store: FrameStore, ways: list[Way]) -> Callable[[Going], None]:
    return lambda going: _follow(store, ways, going)


class _Telling:
    """Progress that also shows the tracks as far as they go."""

    def __init__(self, watch: Progress, so_far: Callable[[], tuple[MarkTrack, ...]], tell: Tell | None) -> None:
        self._watch, self._so_far, self._tell, self._told = watch, so_far, tell, time.monotonic()

    def step(self, stage: str, done: float, total: float | None) -> None:
        self._watch.step(stage, done, total)
        if self._tell is not None and time.monotonic() - self._told > TELL_EVERY_S:
            self._tell(self._so_far())
            self._told = time.monotonic()


def place_only(frames: int, cast: Cast, numbering: Numbering) -> tuple[MarkTrack, ...]:
    """Tracks that hold the placed frames and nothing else."""
    tracks = []
    for part in cast.marked:
        for mark, placed in part.marks.items():
            spots = {i: (p.x, p.y) for p in placed if 0 <= (i := numbering.index(p.frame)) < frames}
            xy, error = np.full((frames, 2), np.nan, np.float32), np.full(frames, np.nan, np.float32)
            for index, spot in spots.items():
                xy[index], error[index] = spot, 0
            tracks.append(MarkTrack(part.name, mark, xy, error, tuple(sorted(spots))))
    return tuple(tracks)


def _legs(store: FrameStore, cast: Cast, cuts: Sequence[int], numbering: Numbering) -> tuple[list[tuple[str, str]], list[Leg]]:
    names: list[tuple[str, str]] = []
    legs: list[Leg] = []
    wide, high = store.size
    for part in cast.marked:
        for mark, placed in part.marks.items():
            spots = {numbering.index(p.frame): (p.x * wide - 0.5, p.y * high - 0.5) for p in placed}
            for shot in shots_between(cuts, len(store)):
                legs += _legs_of_shot(len(names), shot, {i: s for i, s in spots.items() if i in shot}, len(store))
            names.append((part.name, mark))
    return names, legs


def _legs_of_shot(owner: int, shot: Span, spots: dict[int, tuple[float, float]], frames: int) -> list[Leg]:
    """Each anchor has a say up to its neighbours' frames, at the ends up to the shot's."""
    order = sorted(spots)
    legs = []
    for i, anchor in enumerate(order):
        first = order[i - 1] if i else shot.start
        stop = order[i + 1] + 1 if i + 1 < len(order) else shot.stop
        xy, error = np.full((frames, 2), np.nan, np.float32), np.full(frames, np.nan, np.float32)
        xy[anchor], error[anchor] = spots[anchor], 0
        legs.append(Leg(owner, anchor, first, stop, spots[anchor], xy, error, error.copy()))
    return legs


def _follow(store: FrameStore, ways: list[Way], going: Going) -> None:
    """Go all `ways` abreast, one frame of each at a time. Touches nothing of a leg on the other side of its anchor."""
    live: Live = []
    state: Patches | None = None
    views: dict[int, View] = {}
    for tick in range(max(len(way.order) for way in ways)):
        state, live, views = _one_on(store, ways, tick, (state, live, views), going)
    for way in ways:
        for leg in way.legs:
            _forget(leg, leg.xy, leg.error, leg.anchor, way.step)
        for leg, region in way.regions:
            for xy, error in zip(region.xy, region.error, strict=True):
                _forget(leg, xy, error, region.anchor + way.step, way.step)
            settle(region, leg.xy, leg.error, leg.noise)


Abreast = tuple[Patches | None, Live, dict[int, View]]


def _one_on(store: FrameStore, ways: list[Way], tick: int, now: Abreast, going: Going) -> Abreast:
    """From the frames of tick - 1 to those of `tick`."""
    state, live, views = now
    busy = {row[0] for row in live}
    indices = {number: way.order[tick] for number, way in enumerate(ways) if tick < len(way.order)}
    for _ in indices:
        going.on()
    after = {k: view_of(store[i]) for k, i in indices.items() if k in busy or i in ways[k].anchors}
    if state is not None and live:
        advance({k: (views[k], after[k]) for k in sorted(busy)}, state)
        _note(live, state, indices)
    state, live = _drop(state, live, ways, indices)
    parts = [state] if state is not None and live else []
    for number, view in after.items():
        if indices[number] in ways[number].anchors:
            parts, live = _add(view.luma, parts, live, ways[number], number, indices[number])
    return (join(parts) if parts else None), live, after


def _forget(leg: Leg, xy: Floats, error: Floats, anchor: int, step: int) -> None:
    """Take bolts back within the leg: where it ends, at a cut or at another placed frame, nothing was lost."""
    own = slice(leg.first, leg.stop)
    if anchor in range(leg.first, leg.stop):
        forget_bolts(xy[own], error[own], anchor - leg.first, step)


def _drop(state: Patches | None, live: Live, ways: list[Way], indices: Mapping[int, int]) -> tuple[Patches | None, Live]:
    """Without the legs that end here."""
    stays = [row for row, (number, leg, _, _) in enumerate(live) if _goes_on(leg, ways[number].step, indices[number])]
    if state is None or len(stays) == len(live):
        return state, live
    return state.pick(np.array(stays, np.intp)), [live[row] for row in stays]


def _goes_on(leg: Leg, step: int, index: int) -> bool:
    return index < leg.stop - 1 if step > 0 else index > leg.first


def _add(picture: Luma, parts: list[Patches], live: Live, way: Way, number: int, index: int) -> tuple[list[Patches], Live]:
    """With the legs whose anchor is here, as far as they lead on."""
    for leg in (leg for leg in way.legs if leg.anchor == index and _goes_on(leg, way.step, index)):
        own = place(picture, np.array([leg.spot], np.float32), number)
        live = [*live, (number, leg, None, 0)]
        parts = [*parts, own]
        if own.anchor.loose[0] > BLAND and len(spots := companions(picture, leg.spot)):
            region = Region(leg.anchor, way.step, leg.spot, spots, len(leg.xy))
            way.regions.append((leg, region))
            parts = [*parts, place(picture, spots, number, keen=False)]
            live = [*live, *((number, leg, region, k) for k in range(len(spots)))]
    return parts, live


def _note(live: Live, state: Patches, indices: Mapping[int, int]) -> None:
    sure = ~state.lost & (state.error <= WORST)
    for row in np.flatnonzero(sure).tolist():
        number, leg, region, companion = live[row]
        index, xy, noise = indices[number], state.warps[row, :, 2], max(float(state.error[row]), LEAST_ERROR)
        if region is not None:
            region.note(companion, index, xy, noise)
        else:
            leg.xy[index], leg.noise[index] = xy, noise
            leg.error[index] = np.hypot(noise, turned_away(state.warps[row, :, :2]))


def _track(name: tuple[str, str], legs: list[Leg], store: FrameStore, scale: float) -> MarkTrack:
    xy, error, noise = blend(legs, len(store))
    wide, high = store.size
    placed = tuple(sorted(leg.anchor for leg in legs))
    fractions = (xy + 0.5) / np.array([wide, high], np.float32)
    return MarkTrack(
        name[0],
        name[1],
        fractions.astype(np.float32),
        (error * scale).astype(np.float32),
        placed,
        noise_px=(noise * scale).astype(np.float32),
    )


def blend(legs: list[Leg], frames: int) -> tuple[Floats, Floats, Floats]:
    """(path, error, noise) from all anchors' followings, each weighted by its error and by how far its anchor is.

    Where two followings that both believe themselves sound lie apart, the error says how far.
    """
    if not legs:
        return np.full((frames, 2), np.nan, np.float32), np.full(frames, np.nan, np.float32), np.full(frames, np.nan, np.float32)
    age = np.abs(np.arange(frames)[None] - np.array([leg.anchor for leg in legs])[:, None])
    xy = np.stack([leg.xy for leg in legs]).astype(np.float64)
    error, noise = (np.stack([getattr(leg, name) for leg in legs]).astype(np.float64) for name in ("error", "noise"))
    there = np.isfinite(error)
    trust = np.where(there, 1 / (error**2 + (AGE * age) ** 2 + 1e-8), 0)
    total = trust.sum(0)
    share = trust / np.where(total > 0, total, 1)
    middle = (share[..., None] * np.nan_to_num(xy)).sum(0)
    apart = np.where(there, np.linalg.norm(xy - middle, axis=2), 0)
    own, shake = (np.sqrt((share**2 * np.nan_to_num(values) ** 2).sum(0)) for values in (error, noise))
    spread = np.sqrt((share * apart**2).sum(0))
    lost = total == 0
    middle[lost], shake[lost] = np.nan, np.nan
    return middle.astype(np.float32), np.where(lost, np.nan, np.hypot(own, spread)).astype(np.float32), shake.astype(np.float32)
