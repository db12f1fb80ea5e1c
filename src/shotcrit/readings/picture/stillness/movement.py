"""Reads how each cell of the picture moved against the picture before: by a least-squares shift that is exact to hundredths of a px.

Lucas & Kanade (1981) on the mean gradient of both pictures: noise of codec and grain is unrelated to the gradient, so it widens the shift's
standard error and does not bend the shift. Movement too large for that is first taken out by OpenCV's dense inverse search flow.
"""

from __future__ import annotations

from functools import lru_cache
from typing import Any

import cv2
import numpy as np
import numpy.typing as npt

from shotcrit.media.info import MovieInfo
from shotcrit.media.picture import Picture
from shotcrit.readings.picture.stillness.areas import cell_means, product_means
from shotcrit.readings.picture.stillness.grid import CELLS, COLUMN_NAMES, COLUMNS, HEAD, LINES, ROW, WIDTH, Floats, cell_places, sureness

BLUR = 1.0
"""px, standard deviation of the blur before gradients are taken (guess: the least that makes them straight over a px)."""
CORRELATED = 4 * np.pi * BLUR**2
"""px over which that blur makes noise alike: the area of its autocorrelation."""
LOWEST_TEXTURE = 0.02
"""(luma steps per px)^2 added to the gradient energy, so that a flat cell reads as 'no shift, wide error' (guess)."""
LEAST_REST = 1e-2
"""Luma steps: the rest of an exact repeat, so that its standard error is not zero (rounding to 8 bits leaves more than this)."""
CAMERA_STARTS = 0.4
"""px of the small picture; a camera that moves any corner this far is taken out before the cells are read (guess: half of what the shift can follow)."""
FLOW_FROM = 0.6
"""px of the small picture; above it a cell's speed is the flow's, below it the shift's (guess)."""
SURE = 4.0
"""Standard errors from which a shift counts as movement (guess)."""
EXPLAINED = 0.6
"""A movement is believed where it takes away this much of the change: what is left is under 0.6 of it (guess; fetching by a flow found in noise
leaves 0.8 or more)."""
LEAST_TRUST = 1e-3
"""Say of a cell whose flow explains nothing, in the camera's fit (guess: none to speak of)."""
SQUATTEST = 0.4
"""Shorter side over longer, of what the flow library is given. Under 32 px it dies by a signal from 6:1 or 8:1 on (measured: 16 x 96, 30 x 240 px)."""
TALLEST = 4
"""Widths that the small picture may be high (guess: 9:16 is 1.8)."""
FASTEST_CELLS = CELLS // 20
FIT_ROUNDS = 3
"""Rounds of re-weighting in the camera's fit, from the median on (guess: it has settled by then)."""
LEAST_SAY = 1e-3
"""Added to the fit's normal matrix, so that a picture with no texture at all has a camera at rest."""
_LEAST = LEAST_SAY * np.eye(6)
FIT_SCALE = 0.15
"""px: a cell this far off the camera's movement has lost most of its say (guess, well above the flow's own error)."""
BLOCKS = 8


Doubles = npt.NDArray[np.float64]


def working_width(width: int, height: int) -> int:
    """WIDTH; less of a very tall picture, so that its height stays bounded."""
    return min(WIDTH, max(1, TALLEST * WIDTH * width // height))


class MovementReader:
    """One row a frame; see grid.Cells. Reads luma of WIDTH px."""

    NAME = "movement"
    VERSION = 2
    WARMUP = 1
    COLUMNS = COLUMN_NAMES

    def __init__(self) -> None:
        self._flow: Any = None
        self._before: tuple[npt.NDArray[np.uint8], Floats] | None = None

    def start(self, info: MovieInfo) -> None:
        self._flow = cv2.DISOpticalFlow.create(cv2.DISOPTICAL_FLOW_PRESET_ULTRAFAST)
        self._before = None

    def feed(self, picture: Picture) -> Floats:
        """float32 [shape=(ROW,)]"""
        luma = picture.luma(working_width(picture.width, picture.height))
        height, width = luma.shape
        half = cv2.resize(luma, (max(16, width // 2), max(16, height // 2)), interpolation=cv2.INTER_AREA)
        smooth = cv2.GaussianBlur(luma.astype(np.float32), (0, 0), BLUR)
        before, self._before = self._before, (half, smooth)
        row = np.zeros(ROW, np.float32)
        row[15:17] = width, height
        row[HEAD + 7 * CELLS :] = cell_means(smooth).ravel()
        if before is not None and before[1].shape == smooth.shape:
            self._compare(before, row)
        return row

    def _flow_of(self, before: npt.NDArray[np.uint8], after: npt.NDArray[np.uint8]) -> Floats:
        """Dense flow, px [shape=(height, width, 2)]; of a long strip with its edge repeated until it is a picture."""
        height, width = after.shape
        below, beside = (max(0, round(SQUATTEST * longer) - own) for longer, own in ((width, height), (height, width)))
        if below or beside:
            before, after = (cv2.copyMakeBorder(one, 0, below, 0, beside, cv2.BORDER_REPLICATE) for one in (before, after))
        return np.ascontiguousarray(self._flow.calc(before, after, None)[:height, :width])

    def _compare(self, before: tuple[npt.NDArray[np.uint8], Floats], row: Floats) -> None:
        assert self._before is not None
        half, smooth = self._before
        flow = self._flow_of(before[0], half)
        size, scale = row[15:17], smooth.shape[1] / half.shape[1]
        far = np.stack([cell_means(np.ascontiguousarray(flow[..., k])) for k in (0, 1)], axis=-1).astype(np.float32) * np.float32(scale)
        raw, fetched = _changes(before[0], half, flow)
        explained = fetched < EXPLAINED * raw
        under, camera, warped = before[1], np.zeros((2, 3), np.float32), False
        if float(np.abs(far[explained]).max(initial=0)) > CAMERA_STARTS:
            camera = fit_camera(far, flow_certainty(explained), size)
            warped = _reach(camera, size) > CAMERA_STARTS
        if warped:
            laid = _laid_over(before[1], camera)
            warped = cv2.norm(laid, smooth, cv2.NORM_L1) < EXPLAINED * cv2.norm(under, smooth, cv2.NORM_L1)
            under = laid if warped else under
        shift, certainty, rest, peak = cell_shifts(under, smooth)
        row[0] = warped
        row[1:7] = camera.ravel() if warped else 0
        row[7:13] = fit_camera(shift, certainty, size).ravel()
        row[13] = _speed(np.where(explained[..., None], far, 0), shift, certainty)
        row[14] = fetched.mean()
        row[HEAD : HEAD + 7 * CELLS] = np.concatenate([np.moveaxis(np.dstack([shift, certainty]), -1, 0), [rest, peak]]).ravel()


def cell_shifts(before: Floats, after: Floats) -> tuple[Floats, Floats, Floats, Floats]:
    """Shift [9, 16, 2], px; its certainty [9, 16, 3]; RMS rest and greatest block change, luma steps [9, 16]. See grid.Cells."""
    height, width = after.shape
    middle, change = cv2.addWeighted(before, 0.5, after, 0.5, 0), cv2.subtract(after, before)
    gx = cv2.Sobel(middle, cv2.CV_32F, 1, 0, scale=1 / 8)
    gy = cv2.Sobel(middle, cv2.CV_32F, 0, 1, scale=1 / 8)
    xx, xy, yy, xt, yt, tt = product_means(((gx, gx), (gx, gy), (gy, gy), (gx, change), (gy, change), (change, change)))
    xx, yy = xx + np.float32(LOWEST_TEXTURE), yy + np.float32(LOWEST_TEXTURE)
    det = xx * yy - xy * xy
    u, v = (xy * yt - yy * xt) / det, (xy * xt - xx * yt) / det
    rest = np.maximum(tt + u * xt + v * yt, LEAST_REST**2)
    independent = width * height / CELLS / CORRELATED
    certainty = np.stack([xx - LOWEST_TEXTURE, xy, yy - LOWEST_TEXTURE], axis=-1) * (independent / 2 / rest)[..., None]
    blocks = cv2.resize(change, (COLUMNS * BLOCKS, LINES * BLOCKS), interpolation=cv2.INTER_AREA)
    peak = np.abs(blocks).reshape(LINES, BLOCKS, COLUMNS, BLOCKS).max(axis=(1, 3))
    return np.stack([u, v], axis=-1).astype(np.float32), certainty.astype(np.float32), np.sqrt(rest).astype(np.float32), peak


def flow_certainty(explained: npt.NDArray[np.bool_]) -> Floats:
    """Certainty [9, 16, 3] of the flow's cells: the same every way, next to none where it explains nothing."""
    trust = np.where(explained, np.float32(1), np.float32(LEAST_TRUST)) / np.float32(FIT_SCALE**2)
    return np.stack([trust, np.zeros_like(trust), trust], axis=-1).astype(np.float32)


def fit_camera(shift: Floats, certainty: Floats, size: Floats) -> Floats:
    """The affine movement [shape=(2, 3)] that most cells share, by re-weighted least squares (no chance in it: same input, same answer).

    A cell's say is its certainty, so that an edge speaks only across itself; and the less, the further it is off (Geman & McClure's weights).
    """
    places, squares = _fit_places(float(size[1] / size[0]))
    moved = shift.reshape(-1, 2).astype(np.float64)
    say = _capped(certainty.reshape(-1, 3).astype(np.float64))
    fit = np.zeros((2, 3))
    fit[:, 2] = _weighted_median(moved, say[:, 0] + say[:, 2])
    for _ in range(FIT_ROUNDS):
        off = moved - places @ fit.T
        w = 1 / (1 + (off[:, 0] ** 2 + off[:, 1] ** 2) / FIT_SCALE**2) ** 2
        fit = _solve_affine(places, squares, moved, say * w[:, None])
    fit[:, :2] /= size[0]
    return fit.astype(np.float32)


@lru_cache(maxsize=8)
def _fit_places(height: float) -> tuple[Doubles, Doubles]:
    """(x, y, 1) of the cells' centres in widths of a picture that is `height` widths high, and their products, flat: [144, 3], [144, 9]."""
    places = np.concatenate([cell_places() * (1, height), np.ones((LINES, COLUMNS, 1))], axis=-1).reshape(-1, 3)
    return places, (places[:, :, None] * places[:, None, :]).reshape(-1, 9)


def _solve_affine(places: Doubles, squares: Doubles, moved: Doubles, say: Doubles) -> Doubles:
    """Least squares of moved = affine @ place, each cell weighed by its 2 x 2 matrix (say: xx, xy, yy). squares : place x place, flat."""
    xx, xy, yy = (say.T @ squares).reshape(3, 3, 3)
    left = _LEAST.copy()
    left[:3, :3] += xx
    left[:3, 3:] += xy
    left[3:, :3] += xy
    left[3:, 3:] += yy
    pull = say[:, [0, 1]] * moved[:, :1] + say[:, [1, 2]] * moved[:, 1:]
    solved = np.linalg.solve(left, (pull.T @ places).ravel())
    return np.asarray(solved.reshape(2, 3), np.float64)


def _capped(say: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
    """No cell's say is greater than that of an error of half of FIT_SCALE, so that a few sharp figures do not outvote the set."""
    most = 2 * (10 / FIT_SCALE) ** 2
    return say * np.minimum(1, most / np.maximum(say[:, 0] + say[:, 2], 1e-9))[:, None]


def _weighted_median(values: npt.NDArray[np.float64], weight: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
    order = np.argsort(values, axis=0, kind="stable")
    total = np.cumsum(weight[order], axis=0)
    middle = (total < total[-1] / 2).sum(axis=0).clip(max=len(values) - 1)
    return np.take_along_axis(np.take_along_axis(values, order, 0), middle[None], 0)[0]


def _reach(camera: Floats, size: Floats) -> float:
    """How far the corner that moves most moves, px."""
    corners = np.array([[0, 0, 1], [size[0], 0, 1], [0, size[1], 1], [size[0], size[1], 1]], np.float32)
    return float(np.linalg.norm(corners @ camera.T, axis=1).max())


def _laid_over(before: Floats, camera: Floats) -> Floats:
    """The picture before, moved as the camera moved it. The picture's own edge is repeated where it shows nothing."""
    forward = camera + np.array([[1, 0, 0], [0, 1, 0]], np.float32)
    size = (before.shape[1], before.shape[0])
    return np.asarray(cv2.warpAffine(before, forward, size, flags=cv2.INTER_CUBIC, borderMode=cv2.BORDER_REPLICATE), np.float32)


def _speed(far: Floats, shift: Floats, certainty: Floats) -> float:
    flow, near = np.linalg.norm(far, axis=-1), np.linalg.norm(shift, axis=-1)
    near = np.where(sureness(shift, certainty) > SURE, np.minimum(near, FLOW_FROM), 0)
    speed = np.where(flow > FLOW_FROM, flow, near)
    return float(np.sort(speed.ravel())[-FASTEST_CELLS:].mean())


@lru_cache(maxsize=4)
def _places(shape: tuple[int, int]) -> Floats:
    """x, y of every px, float32 [shape=(height, width, 2)]."""
    return np.stack(np.meshgrid(np.arange(shape[1]), np.arange(shape[0])), axis=-1).astype(np.float32)


def _changes(before: npt.NDArray[np.uint8], after: npt.NDArray[np.uint8], flow: Floats) -> tuple[Floats, Floats]:
    """Mean change of each cell, luma steps: as it is, and when each px is fetched from where the flow says it went."""
    fetched = cv2.remap(after, flow + _places(after.shape), None, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    return tuple(cell_means(cv2.absdiff(one, before).astype(np.float32)) for one in (after, fetched))  # type: ignore[return-value]
