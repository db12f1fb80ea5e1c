"""A still picture, rendered or filmed, carried about by a known way of parts of a pixel: what lies beside its outlines goes exactly there.

The way is drawn at twice the working size and averaged down, so that edges fall anew between the pixels on every frame.
"""

from __future__ import annotations

from collections.abc import Sequence

import cv2
import numpy as np
import numpy.typing as npt

from shotcrit.readings.acting import MarkTrack
from shotcrit.readings.cast import Cast, Character, Placed
from shotcrit.readings.picture.marks.across import with_outlines
from shotcrit.readings.picture.marks.follow import follow_in_store
from shotcrit.readings.picture.marks.frames import FrameStore, fill

SIZE = (480, 270)
OVER = 2
RATE = 24
Floats = npt.NDArray[np.float64]
Picture = npt.NDArray[np.uint8]
Spot = tuple[float, float]


def carried(still: Picture, seed: int, *, frames: int = 24, rise: float = 3.0, noise: float = 1.5) -> tuple[list[Picture], Floats]:
    """Luma of SIZE, a frame each, and the way, px [shape=(n_frames, 2)]. still : luma of OVER times SIZE; rise : px up, over half a second."""
    rng = np.random.default_rng(seed)
    t = np.arange(frames) / RATE
    x = 5 * np.sin(2 * np.pi * 0.4 * t + rng.uniform(0, 6))
    y = 2 * np.sin(2 * np.pi * 0.3 * t + rng.uniform(0, 6)) - rise * np.clip(2 * t - 0.5, 0, 1)
    way = np.stack([x - x[0], y - y[0]], axis=1)
    return [_at(still, step, noise, rng) for step in way], way


def _at(still: Picture, step: Floats, noise: float, rng: np.random.Generator) -> Picture:
    moved = cv2.warpAffine(
        still, np.array([[1, 0, OVER * step[0]], [0, 1, OVER * step[1]]]), still.shape[::-1],
        flags=cv2.INTER_CUBIC, borderMode=cv2.BORDER_REFLECT,
    )  # fmt: skip
    small = cv2.resize(moved, SIZE, interpolation=cv2.INTER_AREA).astype(np.float64)
    return np.asarray(np.clip(np.rint(small + rng.normal(0, noise, small.shape)), 0, 255), np.uint8)


def beside_outlines(frames: Sequence[Picture], spots: Sequence[Spot], textured: Spot) -> list[MarkTrack]:
    """A shoulder placed on each spot, px, of as many characters who all have their nose on the textured one."""
    people = [
        Character(name=f"Oona {number}", marks={"shoulder_left": (_placed(spot),), "nose": (_placed(textured),)})
        for number, spot in enumerate(spots)
    ]
    cast = Cast(characters=tuple(people))
    with FrameStore(SIZE) as store:
        fill(store, enumerate(frames))
        tracks = with_outlines(store, cast, (), SIZE, follow_in_store(store, cast, (), SIZE))
    found = {track.who: track for track in tracks if track.mark == "shoulder_left"}
    return [found[person.name] for person in people]


def _placed(spot: Spot) -> Placed:
    return Placed(frame=1, x=spot[0] / SIZE[0], y=spot[1] / SIZE[1])


def wrong_by(track: MarkTrack, way: Floats) -> Floats | None:
    """px by which the height is wrong, and its own error bar, [shape=(n_frames - 1, 2)] without frames that it gives up; None where it is not followed so."""
    if track.across is None:
        return None
    wrong = (track.across.y - track.xy[0, 1]) * SIZE[1] - way[:, 1]
    rows = np.stack([wrong, track.across.error_px], axis=1)[1:].astype(np.float64)
    return np.asarray(rows[np.isfinite(rows[:, 0])], np.float64)
