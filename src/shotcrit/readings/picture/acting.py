"""Level 2: what each character and prop does, from marks placed in the picture.

One pass over the movie at working size, for the marks and the heads. Mouths and eyes are cut out of the full-size picture: those of shots with a marked
face are kept until then, and read again where that would be too much. The answer is a pure function of pictures and cast; VERSION says when the function
has changed, so that a cache knows.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence, Set
from dataclasses import replace
from typing import Protocol, TypeVar

import numpy as np

from shotcrit.clock import Numbering, Span
from shotcrit.media.info import MovieInfo
from shotcrit.progress import Progress, Quiet
from shotcrit.readings.acting import Acting, CameraView, MarkTrack
from shotcrit.readings.cast import Cast, Character, Marked
from shotcrit.readings.events import Blink
from shotcrit.readings.picture.character_model import CharacterModel
from shotcrit.readings.picture.eyes.lids import find_blinks
from shotcrit.readings.picture.head.acting import HeadWork, find_head, find_steady, head_acting, needs_following, take_patches, teach
from shotcrit.readings.picture.head.face import FACE_MARKS
from shotcrit.readings.picture.head.steady import Steady
from shotcrit.readings.picture.marks.across import with_outlines
from shotcrit.readings.picture.marks.follow import Beside, Tell, follow_in_store, place_only, unfollowed
from shotcrit.readings.picture.marks.frames import FrameStore, KeptLarge, OnePicture, fill, work_size
from shotcrit.readings.picture.mouth.read import suggest_frames
from shotcrit.readings.picture.side_by_side import Going, side_by_side
from shotcrit.readings.shots import shots_between

Part = TypeVar("Part", bound=Marked)
CHANGING = ("mouth_", "lip_", "eye_", "iris_", "lid_")
"""Marks that start so are known where a person placed them; in between the mouth and the eyes are measured as wholes."""
VERSION = 12
"""Counts up with every change that may give other numbers."""


class Pictures(Protocol):
    """What is needed of a movie."""

    @property
    def info(self) -> MovieInfo: ...

    def pictures(self, start: int = 0, stop: int | None = None) -> Iterable[OnePicture]: ...


def acting_from_marks(
    movie: Pictures,
    cast: Cast,
    cuts: Sequence[int],
    *,
    cameras: Sequence[CameraView] | None = None,
    known: Mapping[str, CharacterModel] | None = None,
    progress: Progress | None = None,
) -> tuple[Acting, ...]:
    """Characters, then props, in the cast's order; a part that could not be measured is None and `lacks` says what it needs.

    cuts : index of the first frame of each new shot; cameras : one a frame, where known (else a lens of 35 degrees is assumed and carried in the errors)
    known : what was learnt of characters in other shots
    """
    return measure_marks(movie, cast, cuts, cameras=cameras, known=known, progress=progress)[0]


def measure_marks(
    movie: Pictures,
    cast: Cast,
    cuts: Sequence[int],
    *,
    cameras: Sequence[CameraView] | None = None,
    known: Mapping[str, CharacterModel] | None = None,
    followed: Sequence[MarkTrack] = (),
    tell: Tell | None = None,
    finished: Tell | None = None,
    progress: Progress | None = None,
) -> tuple[tuple[Acting, ...], dict[str, CharacterModel], dict[str, dict[str, int]]]:
    """(acting, what was learnt of each character, frames worth marking: {who: {'shut': index, 'open': index, 'wide': index}}).

    followed : tracks of marks that were followed before, as placed now; they are not followed again
    tell : is given the tracks so far, a few times a second while they are followed, and once more when all are; finished : only then
    """
    watch = progress or Quiet()
    info = movie.info
    size = (info.width or 0, info.height or 0)
    if not any(part.marks for part in cast.marked) or min(size) < 1:
        return tuple(Acting(part.name, 2, lacks={"marks": "marks placed in the picture"}) for part in cast.marked), {}, {}
    with FrameStore(work_size(size)) as store, FrameStore(size, near=0) as large:
        read = {p.name for p in cast.characters if p.name in (known or {}) or any(name.startswith(CHANGING) for name in p.marks)}
        faces = _with_faces(cast, read, cuts, info.frames or 0, Numbering(info.first_frame))
        kept = KeptLarge(large, faces if store.size != size else set())
        fill(store, kept.passing(_read(movie, "reading pictures", watch), store.size[0]))
        placed = place_only(len(store), cast, Numbering(info.first_frame))
        wanted = _without(by_texture(cast), followed)
        heads = _Heads(store, cast, cuts, size, cameras)
        early = heads.early((*placed, *followed, *unfollowed(store, wanted, cuts, size, first_frame=info.first_frame)), wanted)
        fresh = follow_in_store(store, wanted, cuts, size, first_frame=info.first_frame, progress=watch, tell=tell, beside=early)
        if finished is not None:
            finished(fresh)
        tracks = tuple({(t.who, t.mark): t for t in (*placed, *followed, *fresh)}.values())
        tracks = with_outlines(store, cast, cuts, size, tracks)
        found = heads.all(tracks, watch)
        large_too = read if store.size != size else set()
        _take_large([head for head in found if head.who in large_too], kept, movie, size[0], watch)
        _take_small([head for head in found if head.who not in large_too], store)
        frames = len(store)
    models = teach(found, known or {})
    acting = tuple(_assemble(part, tracks, found, models, frames) for part in cast.marked)
    worth = {h.who: suggest_frames([x.mouth for x in found if x.who == h.who and x.mouth]) for h in found}
    return tuple(replace(a, worth=worth.get(a.who, {})) for a in acting), models, worth


def _without(cast: Cast, followed: Sequence[MarkTrack]) -> Cast:
    """The cast without the marks that were followed already."""
    done = {(t.who, t.mark) for t in followed}

    def rest(part: Part) -> Part:
        return part.model_copy(update={"marks": {n: m for n, m in part.marks.items() if (part.name, n) not in done}})

    return cast.model_copy(update={"characters": tuple(map(rest, cast.characters)), "props": tuple(map(rest, cast.props))})


def by_texture(cast: Cast) -> Cast:
    """The cast without the marks that texture cannot follow: what lies under eyes, lids and lips changes."""
    people = tuple(
        p.model_copy(update={"marks": {n: m for n, m in p.marks.items() if not n.startswith(CHANGING)}}) for p in cast.characters
    )
    return cast.model_copy(update={"characters": people, "contacts": ()})


def _with_faces(cast: Cast, read: Set[str], cuts: Sequence[int], frames: int, numbering: Numbering) -> set[int]:
    """Frames of the shots in which some character, of those whose mouth or eyes will be read, has marks of the face."""
    people = (who for who in cast.characters if who.name in read)
    spots = (p.frame for who in people for name, placed in who.marks.items() if name in FACE_MARKS for p in placed)
    placed = {numbering.index(frame) for frame in spots}
    return {index for shot in shots_between(cuts, frames) if any(i in shot for i in placed) for index in shot}


def _take_large(heads: Sequence[HeadWork], kept: KeptLarge, movie: Pictures, width: int, watch: Progress) -> None:
    """Cut patches out of the full-size pictures: of those that were kept, and the others as they are read once more."""
    wanted = _looked_at(heads)
    for index in sorted(wanted & kept.frames):
        take_patches(heads, index, kept[index])
    missing = wanted - kept.frames
    if missing:
        for picture in _read(movie, "reading faces", watch, start=min(missing), stop=max(missing) + 1):
            if picture.index in missing:
                take_patches(heads, picture.index, picture.luma(width))


def _take_small(heads: Sequence[HeadWork], store: FrameStore) -> None:
    """Cut patches out of the working pictures: where there is nothing finer, or no mouth and no eyes are marked yet and only frames worth it are sought."""
    for index in sorted(_looked_at(heads)):
        take_patches(heads, index, store[index], scale=1.0)


def _looked_at(heads: Sequence[HeadWork]) -> set[int]:
    return {index for head in heads if head.mouth or head.eyes for index in head.steady.moves}


def _read(movie: Pictures, stage: str, watch: Progress, *, start: int = 0, stop: int | None = None) -> Iterable[OnePicture]:
    total = movie.info.frames
    for picture in movie.pictures(start, stop):
        if picture.index % 12 == 0:
            watch.step(stage, picture.index, total)
        yield picture


class _Heads:
    """The heads of all characters in all shots, each steadied on a thread of its own: beside the following of marks where the face's place is known before."""

    def __init__(
        self, store: FrameStore, cast: Cast, cuts: Sequence[int], size: tuple[int, int], cameras: Sequence[CameraView] | None
    ) -> None:
        self._store, self._size, self._cameras = store, size, cameras
        self._places = [(person.name, shot) for person in cast.characters for shot in shots_between(cuts, len(store))]
        self._steady: dict[tuple[str, Span], Steady | None] = {}

    def early(self, tracks: Sequence[MarkTrack], wanted: Cast) -> list[Beside]:
        """Work that need not wait. tracks : placed, or followed before; wanted : what is still to be followed"""
        marks = {person.name: set(person.marks) for person in wanted.characters}
        own = _by_who(tracks)
        places = [(who, shot) for who, shot in self._places if not needs_following(own.get(who, {}), shot, marks.get(who, set()))]
        return [Beside(len(shot), self._work(who, shot, own.get(who, {}))) for who, shot in places]

    def all(self, tracks: Sequence[MarkTrack], watch: Progress) -> list[HeadWork]:
        """By character, then by shot, from all tracks."""
        own = _by_who(tracks)
        rest = [self._work(who, shot, own.get(who, {})) for who, shot in self._places if (who, shot) not in self._steady]
        side_by_side(rest, lambda done: watch.step("steadying heads", done, None))
        steady = ((who, shot, self._steady[who, shot]) for who, shot in self._places)
        return [
            find_head(who, own.get(who, {}), self._store, shot, self._size, self._cameras, found)
            for who, shot, found in steady
            if found is not None
        ]

    def _work(self, who: str, shot: Span, tracks: Mapping[str, MarkTrack]) -> Callable[[Going], None]:
        def work(going: Going) -> None:
            self._steady[who, shot] = find_steady(tracks, self._store, shot, self._size, self._cameras, going.on)

        return work


def _by_who(tracks: Sequence[MarkTrack]) -> dict[str, dict[str, MarkTrack]]:
    found: dict[str, dict[str, MarkTrack]] = {}
    for track in tracks:
        found.setdefault(track.who, {})[track.mark] = track
    return found


def _assemble(
    part: object, tracks: Sequence[MarkTrack], heads: Sequence[HeadWork], models: Mapping[str, CharacterModel], frames: int
) -> Acting:
    name: str = part.name  # type: ignore[attr-defined]
    own = {t.mark: t for t in tracks if t.who == name}
    if not isinstance(part, Character):
        return Acting(name, 2, own)
    acting = head_acting(name, [h for h in heads if h.who == name], own, models.get(name), frames)
    return replace(acting, marks=_with_eyes(own, acting))


def _with_eyes(own: Mapping[str, MarkTrack], acting: Acting) -> dict[str, MarkTrack]:
    """Marks on eyes are not followed by texture, which changes under them: they come from the gaze."""
    marks = dict(own)
    for side, gaze in acting.gaze.items():
        error = np.radians(gaze.error_deg) * gaze.radius_px
        for name, xy in ((f"eye_{side}", gaze.origin), (f"iris_{side}", gaze.iris)):
            placed = own[name].placed if name in own else ()
            seen = np.where(np.isfinite(xy[:, 0]), np.where(np.isfinite(error), error, 0.1 * gaze.radius_px), np.nan)
            marks[name] = MarkTrack(acting.who, name, xy, seen.astype(np.float32), placed)
    return marks


def blinks_of(acting: Iterable[Acting], rate: float) -> tuple[Blink, ...]:
    """Blinks of all characters, in order of time. rate : frames a second"""
    found = [b for a in acting for b in find_blinks(a.who, {str(s): v for s, v in a.lids.items()}, rate)]
    return tuple(sorted(found, key=lambda b: (b.first, b.who)))
