"""One head in one shot: steadied, its mouth and eyes cut out, taught and read."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Mapping, Sequence, Set
from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

from shotcrit.clock import Span
from shotcrit.geometry.eyeball import ASSUMED_FOV, ASSUMED_FOV_ERROR, assumed_camera, ray_of
from shotcrit.readings.acting import Acting, CameraView, Gaze, Head, MarkTrack, Mouth, Side
from shotcrit.readings.picture.character_model import CharacterModel
from shotcrit.readings.picture.eyes.eye import EyePlan, plan_eye, read_eye, take_patch, teach_eye
from shotcrit.readings.picture.head.face import LAYOUT, NEEDED, find_face, reference_frame
from shotcrit.readings.picture.head.steady import Steady, steady_head
from shotcrit.readings.picture.marks.frames import FrameStore, Luma
from shotcrit.readings.picture.mouth.read import MouthPlan, marked_mouths, missing, plan_mouth, read_mouth, take_mouth
from shotcrit.readings.picture.mouth.warp import MarkedMouth

Floats = npt.NDArray[np.float64]

SIDES: tuple[Side, Side] = ("left", "right")
KNOWN_LENS_ERROR = 0.01
"""Relative standard error of a focal length that was given (guess)."""
NEEDS_FACE = "three marks of the face on one frame, such as both eyes and the nose, on a face with some texture"
FOLLOWS_FACE = "a face that can be followed: it is marked, but has too little texture, or turns too far; mark it on another frame too"
NEEDS_MOUTH = "marks of both corners and both lips, on a frame with the lips shut and on one with the mouth open"
NEEDS_EYES = "marks for the eyeballs' centres and edges, on a frame where the character looks straight ahead"


FOLLOWS_EYES = "eyes that can be read: they are marked, but not where they look straight ahead and can be followed; mark such a frame too"


def needs_face(placed: Mapping[str, Set[int]]) -> str:
    """What a face needs that could not be steadied. placed : by mark, the frames on which it was placed; nobody is asked for marks that are there"""
    on = Counter(frame for mark in LAYOUT for frame in placed.get(mark, ()))
    return FOLLOWS_FACE if on and max(on.values()) >= NEEDED else NEEDS_FACE


def needs_eyes(placed: Mapping[str, Set[int]]) -> str:
    """What eyes need that could not be read. placed : as for needs_face"""
    both = all(placed.get(f"eye_{side}") and placed.get(f"eye_{side}_edge") for side in SIDES)
    return FOLLOWS_EYES if both else NEEDS_EYES


@dataclass
class HeadWork:
    """size : full-size frame, px; scale : of it over the working size; camera : matrix, px of the full-size frame; lens_error : relative"""

    who: str
    steady: Steady
    tracks: Mapping[str, MarkTrack]
    size: tuple[int, int]
    scale: float
    camera: Floats
    lens_error: float
    mouth: MouthPlan | None
    eyes: list[EyePlan] = field(default_factory=list)


def find_head(
    who: str,
    tracks: Mapping[str, MarkTrack],
    store: FrameStore,
    shot: Span,
    size: tuple[int, int],
    cameras: Sequence[CameraView] | None,
    steady: Steady,
) -> HeadWork:
    """A character's head in one shot. steady : of it, see find_steady"""
    scale = size[0] / store.size[0]
    camera, lens_error = _camera(steady.face.index, size, cameras)
    work = HeadWork(who, steady, tracks, size, scale, camera, lens_error, plan_mouth(tracks, steady, store.size, scale))
    work.eyes = [plan for side in SIDES if (plan := plan_eye(side, tracks, steady, store.size)) is not None]
    return work


def find_steady(
    tracks: Mapping[str, MarkTrack],
    store: FrameStore,
    shot: Span,
    size: tuple[int, int],
    cameras: Sequence[CameraView] | None,
    step: Callable[[], None] = lambda: None,
) -> Steady | None:
    """How a character's head moves in one shot; None where too little of its face is marked. step : called for each frame; what it raises ends the work"""
    index = reference_frame(tracks, shot.start, shot.stop)
    face = find_face(tracks, index, store.size) if index is not None else None
    if face is None or index is None:
        return None
    return steady_head(store, face, shot, _scaled(_camera(index, size, cameras)[0], store.size[0] / size[0]), step=step)


def needs_following(tracks: Mapping[str, MarkTrack], shot: Span, wanted: Set[str]) -> bool:
    """Whether the face's place hangs on a mark that is still to be followed there. tracks : of placed frames; wanted : the marks to be followed"""
    index = reference_frame(tracks, shot.start, shot.stop)
    asked = (tracks[name] for name in wanted if name in tracks and (name in LAYOUT or name.endswith("_edge")))
    return index is not None and any(index not in track.placed and any(i in shot for i in track.placed) for track in asked)


def _camera(index: int, size: tuple[int, int], cameras: Sequence[CameraView] | None) -> tuple[Floats, float]:
    if cameras and index < len(cameras):
        return np.asarray(cameras[index].matrix, float), KNOWN_LENS_ERROR
    return assumed_camera(size), ASSUMED_FOV_ERROR / ASSUMED_FOV


def _scaled(camera: Floats, scale: float) -> Floats:
    out = camera * scale
    out[:2, 2] = (camera[:2, 2] + 0.5) * scale - 0.5
    out[2, 2] = 1
    return out


def take_patches(heads: Sequence[HeadWork], index: int, luma: Luma, *, scale: float | None = None) -> None:
    """Cut mouths and eyes out of frame `index`. scale : of the picture over the working size; None: it is the full-size one"""
    for head in heads:
        if index not in head.steady.moves:
            continue
        if head.mouth:
            take_mouth(luma, head.steady, index, head.mouth, scale or head.scale)
        for eye in head.eyes:
            take_patch(luma, head.steady, index, eye, scale or head.scale)


def teach(heads: Sequence[HeadWork], known: Mapping[str, CharacterModel]) -> dict[str, CharacterModel]:
    """Learn each character from its marked frames; what was known from elsewhere fills in what this shot does not teach."""
    models: dict[str, CharacterModel] = {}
    for head in heads:
        before = models.get(head.who, CharacterModel(head.who))
        mouths = [m for _, m in _own_mouths(head)]
        for eye in head.eyes:
            teach_eye(eye, head.steady.face.index, head.scale)
        eyes = {eye.side: eye.look for eye in head.eyes if eye.look is not None}
        models[head.who] = CharacterModel(head.who, (*before.mouths, *mouths), {**before.eyes, **eyes})
    for who, model in models.items():
        old = known.get(who)
        if old is not None:
            models[who] = CharacterModel(who, (*model.mouths, *old.mouths), {**old.eyes, **model.eyes})
    return models


def _own_mouths(head: HeadWork) -> list[tuple[int, MarkedMouth]]:
    size = (round(head.size[0] / head.scale), round(head.size[1] / head.scale))
    return marked_mouths(head.mouth, head.steady, head.tracks, size) if head.mouth else []


def head_acting(who: str, heads: Sequence[HeadWork], tracks: Mapping[str, MarkTrack], model: CharacterModel | None, frames: int) -> Acting:
    """Mouth, gaze, lids and head of one character over all shots."""
    if not heads:
        why = needs_face(_placed(tracks))
        return Acting(who, 2, tracks, lacks={"mouth": why, "eyes": why})
    lacks: dict[str, str] = {}
    mouth = _mouth(heads, model, frames)
    text = NEEDS_MOUTH if mouth is None else missing(mouth.taught)
    if text:
        lacks["mouth"] = text
    gaze: dict[Side, Gaze] = {}
    lids: dict[Side, npt.NDArray[np.float32]] = {}
    for side in SIDES:
        for head in heads:
            for plan in (e for e in head.eyes if e.side == side and e.look is not None):
                found, opening = read_eye(plan, head.steady, frames, head.size, head.camera, head.lens_error)
                gaze[side] = _merged(gaze[side], found) if side in gaze else found
                lids[side] = np.where(np.isfinite(opening), opening, lids[side]).astype(np.float32) if side in lids else opening
    if not gaze:
        lacks["eyes"] = needs_eyes(_placed(tracks))
    return Acting(who, 2, tracks, mouth, gaze, lids, _head(heads, frames), lacks)


def _placed(tracks: Mapping[str, MarkTrack]) -> dict[str, set[int]]:
    return {name: set(track.placed) for name, track in tracks.items()}


def _mouth(heads: Sequence[HeadWork], model: CharacterModel | None, frames: int) -> Mouth | None:
    own = [pair for head in heads for pair in _own_mouths(head)]
    taught = [*own, *((-1, m) for m in (model.mouths if model else ())[len(own) :])]
    plans = [head.mouth for head in heads if head.mouth and head.mouth.patches]
    return read_mouth(plans, taught, frames) if taught and plans else None


def _merged(a: Gaze, b: Gaze) -> Gaze:
    """Two shots' gazes of one eye; they have no frame in common."""

    def both(x: npt.NDArray[np.float32], y: npt.NDArray[np.float32]) -> npt.NDArray[np.float32]:
        return np.where(np.isfinite(x), x, y).astype(np.float32)

    radius = max(a.radius_px, b.radius_px)
    return Gaze(both(a.origin, b.origin), both(a.direction, b.direction), both(a.error_deg, b.error_deg), both(a.iris, b.iris), radius)


def _head(heads: Sequence[HeadWork], frames: int) -> Head:
    """Where the face points: on its reference frame it is taken to face the lens, as an eye does that looks straight ahead."""
    direction, height = np.full((frames, 3), np.nan, np.float32), np.full(frames, np.nan, np.float32)
    steady = np.full((frames, 2, 3), np.nan, np.float32)
    for head in heads:
        face = head.steady.face
        small = _scaled(head.camera, 1 / head.scale)
        facing = -ray_of(face.middle, small)
        for index, move in head.steady.moves.items():
            direction[index] = move.turn @ facing
            height[index] = face.height * head.scale * move.scale
            forth = head.steady.affine(index, face.middle, head.steady.skin_depth(face.middle))
            steady[index] = _back(forth, head.scale)
    return Head(direction, height, steady)


def _back(forth: Floats, scale: float) -> Floats:
    """From full-size px to full-size px of the reference frame, given the working-size map from reference to frame."""
    inverse = np.linalg.inv(forth[:, :2])
    half = 0.5 * scale - 0.5
    # working px w = (full + 0.5) / scale - 0.5, on both sides
    offset = scale * (-inverse @ forth[:, 2]) + inverse @ np.full(2, -half) + half
    return np.hstack([inverse, offset[:, None]])
