"""How large a slide that a scene tells is in the picture: what the audience sees of it."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from shotcrit.clock import Span
from shotcrit.geometry.cameras import project, to_camera
from shotcrit.readings.acting import MarkTrack
from shotcrit.readings.bundle import Readings
from shotcrit.readings.looks.space import lens_of

Array = npt.NDArray[np.float64]


def seen_px(readings: Readings, b: MarkTrack, span: Span, slip_mm: Array, turn: Array | None) -> Array:
    """Px of the full-size frame by which b lies off where it is held [shape=(n,)]; nan without cameras, behind the lens and out of the picture.

    slip_mm : [shape=(n, 3)] by how much, in the frame that `turn` [shape=(n, 3, 3)] carries to the world's; None = the world's own
    """
    out = np.full(len(span), np.nan)
    if not readings.cameras or b.world is None:
        return out
    world = np.asarray(b.world, np.float64)[span.start : span.stop]
    slip = slip_mm / 1000 if turn is None else np.einsum("nij,nj->ni", turn, slip_mm / 1000)
    for row in range(len(span)):
        lens = lens_of(readings, span.start + row)
        pose = np.asarray(readings.cameras[span.start + row].world_to_camera, np.float64)
        at, held = (project(to_camera(point, pose), lens) for point in (world[row], world[row] + slip[row]))
        if np.isfinite(at).all() and 0 <= at[0] <= lens.width and 0 <= at[1] <= lens.height:
            out[row] = float(np.linalg.norm(at - held))
    return out
