"""A character's mouth over a shot: patches of the steadied face, read with what the marked frames taught."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from math import erfc, sqrt

import cv2
import numpy as np
import numpy.typing as npt

from shotcrit.readings.acting import MarkTrack, Mouth
from shotcrit.readings.picture.head.face import LAYOUT, spot
from shotcrit.readings.picture.head.patch import Window, on_patch, steadied, window_around
from shotcrit.readings.picture.head.steady import Steady
from shotcrit.readings.picture.mouth.model import ACROSS, MEETS, SIZE, learn
from shotcrit.readings.picture.mouth.warp import MarkedMouth, seam_of
from shotcrit.readings.picture.mouth.width import widths

Floats = npt.NDArray[np.float64]
Patch = npt.NDArray[np.float32]

LIPS = ("mouth_left", "mouth_right", "lip_upper", "lip_lower")
DOWN = 0.05
"""Head heights by which the window's middle lies under the corners: mouths open downwards."""
AWAY = 0.25
"""Error of a width or opening, in parts of how far it is from the nearest that was marked (calibrated on generated heads)."""
DOUBT = 0.5
"""Standard error of a width, in parts of what its two measurements differ by: half, were they equally sure (guess)."""
SURE = 0.02
"""Standard error of the place where lips count as meeting, mouth widths (guess)."""
DARK, BRIGHT = 0.5, 1.12
"""Of the skin's grey: under the one it is the inside of the mouth, over the other teeth; lips lie between (guess)."""
LIP = 0.15
"""Of the skin's grey: lips differ from skin by at least so much (guess)."""
FINEST = 8.0
"""px of the full-size frame; a mouth narrower than this cannot be read."""


@dataclass
class MouthPlan:
    """Where the mouth is on the head's reference frame, and what was cut out of the picture so far, by frame."""

    window: Window
    width_px: float
    patches: dict[int, Patch] = field(default_factory=dict)


def plan_mouth(tracks: Mapping[str, MarkTrack], steady: Steady, size: tuple[int, int], scale: float) -> MouthPlan | None:
    """The window around the mouth; from its corners where a person placed them on the reference frame, else from where faces have mouths."""
    face = steady.face
    corners = []
    for name in ("mouth_left", "mouth_right"):
        track = tracks.get(name)
        known = track is not None and face.index in track.placed
        corners.append(spot(track, face.index, size) if known and track is not None else face.turn @ LAYOUT[name] + face.middle)
    middle, across = (corners[0] + corners[1]) / 2, float(np.linalg.norm(corners[0] - corners[1]))
    if across * scale < FINEST:
        return None
    window = window_around(middle + face.turn @ [0, DOWN], ACROSS * across, SIZE, steady.skin_depth(middle))
    return MouthPlan(window, across * scale)


def take_mouth(luma: npt.NDArray[np.uint8], steady: Steady, index: int, plan: MouthPlan, scale: float) -> None:
    patch = steadied(luma, steady, index, plan.window, scale)
    if patch is not None:
        plan.patches[index] = patch


def marked_mouths(plan: MouthPlan, steady: Steady, tracks: Mapping[str, MarkTrack], size: tuple[int, int]) -> list[tuple[int, MarkedMouth]]:
    """The frames on which a person placed all four marks of the mouth, with their patches."""
    if not all(name in tracks for name in LIPS):
        return []
    frames = set.intersection(*(set(tracks[name].placed) for name in LIPS))
    out = []
    for index in sorted(frames & set(plan.patches)):
        spots = [on_patch(steady, index, plan.window, spot(tracks[n], index, size)) for n in LIPS]
        mouth = MarkedMouth(plan.patches[index], *spots)
        if mouth.width > 4:
            out.append((index, mouth))
    return out


def read_mouth(plans: Sequence[MouthPlan], mouths: list[tuple[int, MarkedMouth]], frames: int) -> Mouth:
    """Opening, width and whether the lips meet, of all patches of all shots. mouths : (frame, mouth) that teach, one at least; frame -1 = another shot's"""
    model = learn([m for _, m in mouths])
    order = sorted({i: p for plan in plans for i, p in plan.patches.items()}.items())
    index, patches = [i for i, _ in order], [p for _, p in order]
    answers, errors = model.read(patches)
    wide, wide_error = widths(patches, [m for _, m in mouths], answers[:, 0], model.rest, seam_of([m for _, m in mouths]))
    taught = np.array(model.answers)
    # The whole look says how wide the mouth is, too: what it and the corners disagree by is doubt.
    wide_error = np.hypot(wide_error, DOUBT * np.abs(wide - answers[:, 1]))
    far = np.abs(answers[:, :1] - taught[:, 0]).min(1), np.abs(wide[:, None] - taught[:, 1]).min(1)
    errors = np.column_stack([np.hypot(errors[:, 0], AWAY * far[0]), np.hypot(wide_error, AWAY * far[1])])
    answers = np.column_stack([answers[:, 0], wide])
    for frame, mouth in mouths:
        if frame in index:
            answers[index.index(frame)] = mouth.gap / model.rest, mouth.width / model.rest
            errors[index.index(frame)] = 0.01
    series = np.full((5, frames), np.nan, np.float32)
    near = np.hypot(np.minimum(errors[:, 0], MEETS), SURE)
    series[:, index] = answers[:, 0], answers[:, 1], errors[:, 0], errors[:, 1], _chance((MEETS - answers[:, 0]) / near)
    return Mouth(series[0], series[1], series[2], series[3], series[4], None, model.taught)


def _chance(errors: npt.NDArray[np.float64]) -> list[float]:
    """The chance 0..1 that a normal variable lies under so many standard errors; nan stays nan."""
    return [erfc(-x / sqrt(2)) / 2 for x in errors.tolist()]


def missing(taught: tuple[str, ...]) -> str | None:
    """What the marked frames do not cover, as a phrase after 'needs'; None when they span the mouth's range."""
    wanted = {
        "shut": "a frame with the lips shut",
        "open": "a frame with the mouth wide open",
        "wide": "a frame with the corners pulled wide",
    }
    gaps = [text for name, text in wanted.items() if name not in taught]
    if not gaps or gaps == [wanted["wide"]]:
        return None
    return "marks of both corners and both lips on " + " and on ".join(gaps)


def suggest_frames(plans: Sequence[MouthPlan]) -> dict[str, int]:
    """The frames that teach a mouth most: {'shut': index, 'open': index, 'wide': index}; fewer where frames are few.

    By looks alone: an open mouth shows the most dark and teeth in its middle, a shut one the least, a wide one reaches furthest to both sides.
    """
    patches = {i: p for plan in plans for i, p in plan.patches.items()}
    looks = {i: _look(p) for i, p in patches.items()}
    if not looks:
        return {}
    found = {"open": max(looks, key=lambda i: looks[i][0]), "shut": _typical(patches, looks)}
    calm = np.median([d for d, _ in looks.values()])
    rest = {i: w for i, (d, w) in looks.items() if d <= calm and i not in found.values()}
    if rest:
        found["wide"] = max(rest, key=lambda i: rest[i])
    return found


def _typical(patches: Mapping[int, Patch], looks: Mapping[int, tuple[float, float]]) -> int:
    """Of the third of frames that show least inside, the one most like their middle: one odd frame with teeth the grey of lips is passed over."""
    least = sorted(looks, key=lambda i: looks[i][0])[: max(1, len(looks) // 3)]
    middle = np.median(np.stack([patches[i] for i in least]), axis=0)
    return min(least, key=lambda i: float(np.abs(patches[i] - middle)[20:68, 16:80].mean()))


def _look(patch: Patch) -> tuple[float, float]:
    """(how much dark and teeth show in the middle, reach of what is not skin to the sides in px)."""
    soft = cv2.GaussianBlur(patch, (0, 0), 1.5)
    skin = float(np.median(np.concatenate([soft[:6].ravel(), soft[:, :6].ravel(), soft[:, -6:].ravel()])))
    middle = soft[20:68, 16:80]
    part = middle / max(skin, 8.0)
    dark = float(np.clip(DARK - part, 0, 1).mean() + np.clip(part - BRIGHT, 0, 1).mean())
    line = np.abs(soft[26:52] - skin).max(0)
    line = np.asarray(cv2.blur(line[None], (5, 1))[0])
    ends = [next((k for k, v in enumerate(half) if v < LIP * skin), len(half)) for half in (line[48:], line[:48][::-1])]
    return dark, float(sum(ends))
