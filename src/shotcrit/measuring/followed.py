"""Marks followed through the picture, remembered by character and by mark: what did not change is not followed again."""

from __future__ import annotations

import hashlib
import io
import json
import zipfile
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from shotcrit.errors import ReadingError
from shotcrit.measuring.characters import Known, Learnt, keep_lesson, known_to, own_part
from shotcrit.measuring.request import key_of
from shotcrit.media import Movie
from shotcrit.progress import Progress
from shotcrit.readings.acting import Acting, CameraView, MarkTrack
from shotcrit.readings.cast import Cast, Character, Marked, Placed, Prop
from shotcrit.readings.picture.acting import VERSION, by_texture, measure_marks
from shotcrit.readings.picture.acting_npz import acting_from_bytes, acting_key, acting_to_bytes
from shotcrit.readings.picture.character_model import CharacterModel
from shotcrit.readings.picture.head.acting import NEEDS_FACE
from shotcrit.readings.picture.marks.follow import Tell
from shotcrit.store.cache import MediumCache


@dataclass(frozen=True)
class Following:
    """What following needs besides the cast. learnt : where what is learnt of characters is kept; None: nowhere, and nothing is known before"""

    movie: Movie
    cuts: Sequence[int]
    cameras: Sequence[CameraView]
    kept: MediumCache
    progress: Progress
    learnt: Learnt | None = None
    tell: Tell | None = None


def followed(cast: Cast, work: Following) -> tuple[Acting, ...]:
    """Acting of all characters and props, in the cast's order, from the cache as far as their marks did not change."""
    known = known_to(work.learnt, [person.name for person in cast.characters], work.movie.info.sha256)
    keys = {part.name: _key(part, work, known) for part in cast.marked if part.marks}
    found = {name: acting for name, key in keys.items() if (acting := _remembered(key, work.kept)) is not None}
    missing = [part for part in cast.marked if part.marks and part.name not in found]
    if missing:
        found |= _measured(missing, keys, known, work)
    return tuple(found.get(part.name) or _unmarked(part) for part in cast.marked)


def _measured(parts: Sequence[Marked], keys: Mapping[str, str], known: Mapping[str, Known], work: Following) -> dict[str, Acting]:
    cast = _cast_of(parts)
    work.progress.step("following marks", 0, None)
    acting, models, _ = measure_marks(
        work.movie,
        cast,
        work.cuts,
        cameras=work.cameras or None,
        known={who: one.model for who, one in known.items()},
        followed=[track for part in by_texture(cast).marked for track in _kept_tracks(part, work)],
        tell=work.tell,
        finished=lambda tracks: _keep_tracks(cast, tracks, work),
        progress=work.progress,
    )
    for one in acting:
        work.kept.put(keys[one.who], VERSION, acting_to_bytes([one]))
    if work.learnt is not None:
        for person in cast.characters:
            _keep_lesson(work.learnt, models.get(person.name, CharacterModel(person.name)), known, work.movie.info.sha256)
    return {one.who: one for one in acting}


def _keep_lesson(learnt: Learnt, model: CharacterModel, known: Mapping[str, Known], sha256: str) -> None:
    teachers = [lesson.sha256 for lesson in known[model.who].lessons] if model.who in known else []
    keep_lesson(learnt, own_part(model, known), teachers, sha256)


def _unmarked(part: Marked) -> Acting:
    if isinstance(part, Character):
        return Acting(part.name, 2, lacks={"mouth": NEEDS_FACE, "eyes": NEEDS_FACE})
    return Acting(part.name, 2)


def _cast_of(parts: Sequence[Marked]) -> Cast:
    return Cast(
        characters=tuple(p for p in parts if isinstance(p, Character)),
        props=tuple(p for p in parts if isinstance(p, Prop)),
    )


def _key(part: Marked, work: Following, known: Mapping[str, Known]) -> str:
    """Names what one character or prop does in the cache: its marks, the cuts, the cameras, and what other shots taught."""
    name = acting_key(work.movie.info.sha256, _cast_of([part]), work.cuts, first_frame=work.movie.info.first_frame)
    if work.cameras:
        name = f"{name}-{key_of(b''.join(c.matrix.tobytes() + c.world_to_camera.tobytes() for c in work.cameras))}"
    return f"{name}-{known[part.name].digest}" if part.name in known else name


def _remembered(key: str, kept: MediumCache) -> Acting | None:
    stored = kept.get(key, VERSION)
    if stored is None:
        return None
    try:
        return acting_from_bytes(stored)[0]
    except (ReadingError, IndexError):
        kept.drop(key, VERSION)
        return None


def _keep_tracks(cast: Cast, tracks: Sequence[MarkTrack], work: Following) -> None:
    """Kept before anything else is done with them, so that stopping later loses none."""
    placed = {(part.name, mark): spots for part in cast.marked for mark, spots in part.marks.items()}
    for track in tracks:
        out = io.BytesIO()
        np.savez_compressed(out, xy=track.xy, error=track.error_px, noise=track.quick_error_px, placed=np.array(track.placed, np.int64))
        work.kept.put(_track_key(placed[track.who, track.mark], work), VERSION, out.getvalue())


def _kept_tracks(part: Marked, work: Following) -> list[MarkTrack]:
    found = []
    for mark, spots in part.marks.items():
        stored = work.kept.get(_track_key(spots, work), VERSION)
        track = _track(part.name, mark, stored) if stored is not None else None
        found += [track] if track is not None else []
    return found


def _track(who: str, mark: str, data: bytes) -> MarkTrack | None:
    try:
        with np.load(io.BytesIO(data), allow_pickle=False) as file:
            return MarkTrack(who, mark, file["xy"], file["error"], tuple(int(i) for i in file["placed"]), noise_px=file["noise"])
    except (OSError, ValueError, KeyError, EOFError, zipfile.BadZipFile):
        return None


def _track_key(spots: Sequence[Placed], work: Following) -> str:
    """A track follows from where its mark was placed, and from nothing else of the cast."""
    said = [[s.frame, s.x, s.y] for s in spots]
    text = json.dumps([VERSION, said, sorted(work.cuts), work.movie.info.first_frame])
    return f"track-{hashlib.sha256(text.encode()).hexdigest()}"
