"""How strongly each cell of the picture draws the eye: by its looks, and by how much it changes.

By its looks: the spectral residual of Hou and Zhang (2007), which is high where a picture is unlike itself elsewhere, and the distance of a cell's colour
from the picture's mean in CIELAB, of Achanta, Hemami, Estrada and Susstrunk (2009). By its change: flicker, which Itti and Baldi (2005, CVPR) take
beside movement, light and colour, here of what moved against the set. From what other readers kept; no picture is decoded for it.
"""

from __future__ import annotations

import cv2
import numpy as np
import numpy.typing as npt

from shotcrit.clock import Span
from shotcrit.geometry.colour import lab_of_light
from shotcrit.media.blocks import Rows
from shotcrit.readings.picture.glance import HIGH, WIDE
from shotcrit.readings.picture.light import split
from shotcrit.readings.picture.stillness.grid import COLUMNS, LINES, Floats, Movements, stretches
from shotcrit.readings.seen import Pull

SIDE = 64
"""px: Hou and Zhang (2007) take 64 px of width or height."""
AVERAGED = 3
"""px of the log spectrum's local mean, as there."""
SMOOTHED = 8.0 / 3
"""px, standard deviation: the paper smooths with sigma = 8 'for better visual effects'; a third of it is left here, since a cell is 4 px wide and its mean
smooths again (guess)."""
EVERY = 4
"""Frames from one look at light and colour to the next, within a stretch of rows (guess: where the eye goes by looks alone does not change in a sixth of a
second, and over a cut three frames do not tell in the second that is judged)."""
TINY = 1e-12


def read_pull(glance: Rows, light: Rows, cells: Movements) -> Pull:
    """What draws the eye on every frame. glance, light : rows of GlanceReader and LightReader, as many as `cells`."""
    looks = [
        _held(_looks(glance[at.start : at.stop][::EVERY], light[at.start : at.stop][::EVERY]), len(at)) for at in stretches(len(cells))
    ]
    empty = np.zeros((0, LINES, COLUMNS))
    return Pull(
        looks=np.concatenate([empty, *looks]).astype(np.float16),
        change=np.concatenate([empty, *(np.nan_to_num(part.peak) for part in cells.parts())]).astype(np.float16),
    )


def _held(sampled: Floats, frames: int) -> Floats:
    return np.repeat(sampled, EVERY, axis=0)[:frames]


def _looks(glance: Floats, light: Floats) -> Floats:
    """Mean of both maps, each over its greatest: float32 [shape=(n, 9, 16)] 0..1; 0 on a picture that is the same all over."""
    luma = np.nan_to_num(glance).reshape(len(glance), HIGH, WIDE)
    residual = np.array([_cells(picture) for picture in spectral_residual(luma)])
    colour = colour_contrast(np.moveaxis(np.nan_to_num(split(light)[1]), 1, -1))
    return np.asarray((_scaled(residual) + _scaled(colour)) / 2, np.float32)


def spectral_residual(luma: npt.ArrayLike) -> Floats:
    """Saliency of pictures [shape=(n, h, w)], float32 [shape=(n, 64, 64)], before it is smoothed.

    L = log |F(picture)|; P = its phase; S = |F^-1(exp(L - mean of L around + iP))|^2, the picture brought to 64 x 64 first
    """
    small = np.array([cv2.resize(picture, (SIDE, SIDE), interpolation=cv2.INTER_AREA) for picture in np.asarray(luma, np.float32)])
    spectrum = np.fft.fft2(small)
    size = np.maximum(np.abs(spectrum), TINY)
    around = np.array([cv2.blur(one, (AVERAGED, AVERAGED), borderType=cv2.BORDER_REFLECT_101) for one in np.log(size)])
    # exp(L - around + iP) is the spectrum itself over the size that is expected of it.
    return np.asarray(np.abs(np.fft.ifft2(spectrum / np.exp(around))) ** 2, np.float32)


def colour_contrast(light: npt.ArrayLike) -> Floats:
    """Distance in CIELAB (1976, D65) of each cell of linear light [shape=(n, h, w, 3)] from its picture's mean: float32 [shape=(n, h, w)], delta E*ab.

    Achanta et al. (2009), eq. 1: the picture itself is coarse already, so nothing is blurred here.
    """
    lab = lab_of_light(light)
    return np.asarray(np.linalg.norm(lab - lab.mean(axis=(1, 2), keepdims=True), axis=-1), np.float32)


def _cells(saliency: Floats) -> Floats:
    smooth = cv2.GaussianBlur(saliency, (0, 0), SMOOTHED)
    return np.asarray(cv2.resize(smooth, (COLUMNS, LINES), interpolation=cv2.INTER_AREA), np.float32)


def _scaled(maps: Floats) -> Floats:
    """Each map from its least, 0, to its greatest, 1."""
    least = maps.min(axis=(1, 2), keepdims=True)
    over = maps.max(axis=(1, 2), keepdims=True) - least
    return np.asarray(np.where(over > TINY, (maps - least) / np.maximum(over, TINY), 0.0), np.float32)


def cells_within(left: float, top: float, right: float, bottom: float) -> npt.NDArray[np.bool_]:
    """bool [shape=(9, 16)]: cells that a box touches, fractions of the picture."""
    x, y = np.arange(COLUMNS) / COLUMNS, np.arange(LINES) / LINES
    return ((y + 1 / LINES >= top) & (y <= bottom))[:, None] & ((x + 1 / COLUMNS >= left) & (x <= right))[None, :]


def mean_over(maps: npt.NDArray[np.float16], span: Span) -> Floats:
    """float32 [shape=(9, 16)]"""
    return np.asarray(maps[span.start : span.stop].astype(np.float32).mean(axis=0), np.float32)
