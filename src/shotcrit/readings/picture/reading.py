"""All readings of the picture alone: the readers that one decoding pass feeds, and what their rows add up to."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from fractions import Fraction

import numpy as np
import numpy.typing as npt

from shotcrit.clock import FrameClock
from shotcrit.counted import counted
from shotcrit.errors import ReadingError
from shotcrit.media.blocks import Rows
from shotcrit.media.info import MovieInfo
from shotcrit.media.passes import Reader
from shotcrit.readings.bundle import PictureReadings, Series
from shotcrit.readings.picture.cuts import find_cuts
from shotcrit.readings.picture.flashes import transitions
from shotcrit.readings.picture.light import LightReader, split
from shotcrit.readings.picture.stillness.cadence import KINDS, Cadence, read_cadence
from shotcrit.readings.picture.stillness.frozen import Frozen, Region, find_frozen, regions
from shotcrit.readings.picture.stillness.grid import Cells, Floats, Movements, cell_places, movements_of, stretches, sureness
from shotcrit.readings.picture.stillness.movement import SURE, MovementReader
from shotcrit.readings.picture.stillness.still import find_repeats
from shotcrit.readings.shots import shots_between

PICTURE_READERS: tuple[Callable[[], Reader], ...] = (MovementReader, LightReader)


def picture_readings(rows: Mapping[str, Rows], clock: FrameClock, info: MovieInfo) -> PictureReadings:
    """Put rows [shape=(n_frames, ...)] of every one of PICTURE_READERS, by name, together. Raises ReadingError if one is missing or short.

    Arrays in `extra`, n = frames:
        flash    [shape=(n, 4)] part of the picture 0..1 that completes a rise, a fall, a turn to red, a turn from red; see flashes.transitions
        content  [shape=(n,)] PySceneDetect's content_val against the frame before
        centre   [shape=(n, 2)] where the picture moves, x and y as fractions of it; nan where nothing moves
        camera   [shape=(n, 2, 3)] movement of the set against the frame before: px of the full-size frame at place p (px) = camera @ (p, 1)
        frozen   [shape=(k, 8)] stops of a region: first, last, left, top, right, bottom, cells, shot's first frame; box in fractions of the picture
        regions  [shape=(k, 8)] patches with a life of their own: shot's first and last frame, left, top, right, bottom, step on which it moves
                 (1 ones, 2 twos ..; 0 unknown), part of the frames that it moves on
        cadence  [shape=(5,)] kind (0 step, 1 conversion, 2 pulldown), period, repeats a period, source rate or 0, fit 0..1
        doubled, dropped  [shape=(k,)] frame indices
    """
    for reader in (MovementReader, LightReader):
        if len(rows.get(reader.NAME, ())) != len(clock):
            raise ReadingError(
                f"the picture reading '{reader.NAME}' does not cover the movie's {counted(len(clock), 'frame')}; measure the movie again"
            )
    cells, lights = movements_of(rows[MovementReader.NAME]), rows[LightReader.NAME]
    content = np.concatenate([split(lights[at.start : at.stop])[0] for at in stretches(len(clock))] or [np.zeros(0, np.float32)])
    still = find_repeats(cells)
    cuts = find_cuts(content, lights, cells.unmatched)
    parts = shots_between(cuts, len(clock))
    moved = np.where(still.repeats, 0, cells.movement).astype(np.float32)
    moved[list(cuts)] = np.nan
    cadence = read_cadence(still.repeats, moved, info.rate, parts)
    up = np.asarray((info.width or 1) / np.maximum(np.nan_to_num(cells.size[:, 0], nan=1.0), 1), np.float32)
    moved[0] = np.nan
    patches = regions(cells, parts)
    extra = {
        "flash": transitions(_pictures(lights), len(clock)),
        "content": content,
        "centre": centre_of_movement(cells, still.repeats),
        "camera": _full_size(cells, up),
        "frozen": _frozen_rows(find_frozen(cells, patches, still.repeats)),
        "regions": _region_rows(patches, still.repeats),
        **_cadence_rows(cadence),
    }
    series = Series("movement", "px", (moved * up).astype(np.float32))
    return PictureReadings(still.repeats, series, cuts, still.noise, extra, cadence.name, cadence.rhythm)


def _pictures(lights: Rows) -> Iterator[Floats]:
    """Linear light of each picture, one after the other."""
    for at in stretches(len(lights)):
        yield from split(lights[at.start : at.stop])[1]


def centre_of_movement(cells: Movements, repeats: npt.NDArray[np.bool_]) -> Floats:
    """float32 [shape=(n, 2)]: mean place of the cells, weighted by how far each moves against the set; fractions; nan on repeats."""
    centre = np.concatenate([np.zeros((0, 2), np.float32), *map(_centre, cells.parts())])
    centre[repeats] = np.nan
    return centre


def _centre(cells: Cells) -> Floats:
    own = cells.own()
    speed = np.where(sureness(own, cells.certainty) > SURE, np.linalg.norm(own, axis=-1), 0)
    weight = speed.reshape(len(cells), -1)
    total = weight.sum(axis=1, keepdims=True)
    centre = weight @ cell_places().reshape(-1, 2) / np.maximum(total, 1e-6)
    centre[total[:, 0] <= 1e-3] = np.nan
    return np.asarray(centre, np.float32)


def _full_size(cells: Movements, up: Floats) -> Floats:
    """The camera's map for px of the full-size frame: lengths scale, the linear part stays."""
    whole = np.nan_to_num(cells.camera + cells.left)
    whole[..., 2] *= up[:, None]
    return np.asarray(whole, np.float32)


def _frozen_rows(found: list[Frozen]) -> Floats:
    rows = [(f.span.start, f.span.last, *f.box, f.moving_cells, f.shot_first) for f in found]
    return np.array(rows, np.float32).reshape(-1, 8)


def _region_rows(found: list[Region], repeats: object) -> Floats:
    rows = [(r.shot[0], r.shot[1] - 1, *r.box, r.step(np.asarray(repeats)), r.alive[r.shot[0] : r.shot[1]].mean()) for r in found]
    return np.array(rows, np.float32).reshape(-1, 8)


def _cadence_rows(cadence: Cadence) -> dict[str, Floats]:
    kind = KINDS.index(cadence.kind)
    head = [kind, cadence.period, cadence.repeats, float(cadence.source or Fraction(0)), cadence.fit]
    return {
        "cadence": np.array(head, np.float32),
        "doubled": np.array(cadence.doubled, np.float32),
        "dropped": np.array(cadence.dropped, np.float32),
    }
