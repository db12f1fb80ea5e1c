"""All readings of the picture alone: the readers that one decoding pass feeds, and what their rows add up to."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping

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
from shotcrit.readings.picture.faces.found import find_faces
from shotcrit.readings.picture.faces.nets import weights_there
from shotcrit.readings.picture.faces.reader import FaceReader
from shotcrit.readings.picture.flashes import transitions
from shotcrit.readings.picture.glance import GlanceReader
from shotcrit.readings.picture.light import LightReader, scores, split
from shotcrit.readings.picture.pull import read_pull
from shotcrit.readings.picture.stillness.cadence import Seen, read_cadence
from shotcrit.readings.picture.stillness.frozen import find_frozen, regions
from shotcrit.readings.picture.stillness.grid import Cells, Floats, Movements, cell_places, movements_of, stretches, sureness
from shotcrit.readings.picture.stillness.movement import SURE, MovementReader
from shotcrit.readings.picture.stillness.still import find_repeats
from shotcrit.readings.picture.unacted import cell_lumas, find_black, find_cards, find_fades, flags_of, without_black
from shotcrit.readings.shots import shots_between

PICTURE_READERS: tuple[Callable[[], Reader], ...] = (MovementReader, LightReader, GlanceReader)
"""What every pass feeds. The last is for another take: nothing here is made of it."""


def readers_here() -> list[Reader]:
    """New readers for one pass: PICTURE_READERS, and the one that finds faces where its weights are."""
    return [*(reader() for reader in PICTURE_READERS), *([FaceReader()] if weights_there() else [])]


def picture_readings(rows: Mapping[str, Rows], clock: FrameClock, info: MovieInfo) -> PictureReadings:
    """Put rows [shape=(n_frames, ...)] of MovementReader and LightReader, by name, together; those of faces where they are.

    Raises ReadingError if one is missing or short.
    """
    for reader in (MovementReader, LightReader):
        if len(rows.get(reader.NAME, ())) != len(clock):
            raise ReadingError(
                f"the picture reading '{reader.NAME}' does not cover the movie's {counted(len(clock), 'frame')}; measure the movie again"
            )
    cells, lights = movements_of(rows[MovementReader.NAME]), rows[LightReader.NAME]
    content, change = scores(lights)
    still = find_repeats(cells)
    luma = cell_lumas(cells)
    black = find_black(luma)
    cuts = without_black(find_cuts(content, lights, cells.unmatched), black)
    fades = find_fades(luma, change, cuts, black)
    parts = shots_between(cuts, len(clock))
    moved = np.where(still.repeats, 0, cells.movement).astype(np.float32)
    moved[list(cuts)] = np.nan
    cards = find_cards(luma, moved, cuts, (*black, *(fade.span for fade in fades)))
    up = np.asarray((info.width or 1) / np.maximum(np.nan_to_num(cells.size[:, 0], nan=1.0), 1), np.float32)
    moved[0] = np.nan
    patches = regions(cells, parts)
    series = Series("movement", "px", (moved * up).astype(np.float32))
    acted = ~flags_of((*black, *cards, *(fade.span for fade in fades)), len(clock))
    cadence = read_cadence(Seen(still.repeats, moved, change, acted, parts), info.rate)
    return PictureReadings(
        still.repeats,
        series,
        cuts,
        still.noise,
        cadence=cadence,
        black=black,
        fades=fades,
        cards=cards,
        frozen=tuple(find_frozen(cells, patches, still.repeats, acted)),
        regions=tuple(patch.seen(still.repeats) for patch in patches),
        flashing=transitions(_pictures(lights), len(clock)),
        centre=centre_of_movement(cells, still.repeats),
        camera=_full_size(cells, up),
        pull=read_pull(rows[GlanceReader.NAME], lights, cells) if GlanceReader.NAME in rows else None,
        faces=find_faces(rows[FaceReader.NAME], cuts, (info.width or 1, info.height or 1)) if FaceReader.NAME in rows else (),
    )


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
