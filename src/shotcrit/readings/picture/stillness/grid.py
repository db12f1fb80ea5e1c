"""The grid of cells that the picture's movement is read on, and the layout of a row of it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from shotcrit.media.blocks import Rows, block_count, block_frames

Floats = npt.NDArray[np.float32]

COLUMNS, LINES = 16, 9
"""Cells across and down, whatever the picture's size: a finding must not hang on the size of the copy."""
CELLS = COLUMNS * LINES
WIDTH = 480
"""px; width of the small luma picture that movement is read on."""

LEAST_ERROR = 0.004
"""px of the small picture (guess: a tenth of the slowest movement asked for)."""

HEAD = 17
"""Numbers at the front of a row: warped, camera (6), left (6), movement, unmatched, width, height of the small picture."""
PARTS = 8
"""Numbers a cell: shift (2), certainty (3), rest, peak, mean."""
ROW = HEAD + PARTS * CELLS
COLUMN_NAMES: tuple[str, ...] = (
    "warped", *(f"camera {k}" for k in range(6)), *(f"left {k}" for k in range(6)), "movement", "unmatched", "width", "height",
    *(f"{part} {cell}" for part in ("shift x", "shift y", "certainty xx", "certainty xy", "certainty yy", "rest", "peak", "mean") for cell in range(CELLS)),
)  # fmt: skip


@dataclass(frozen=True)
class Cells:
    """Movement rows taken apart. n frames; the first frame has nothing before it and holds zeros. Lengths are px of the small picture.

    warped : bool [shape=(n,)]; True where the camera moved so far that the picture before was laid over this one first
    camera : float32 [shape=(n, 2, 3)] that lay-over: the set at p (px) moved by camera @ (p, 1); zero where not warped
    left : float32 [shape=(n, 2, 3)] movement of the set that is left in `shift`
    movement : float32 [shape=(n,)] mean of the fastest twentieth of the cells
    unmatched : float32 [shape=(n,)] the change that no movement explains, mean of 8-bit luma steps
    size : float32 [shape=(n, 2)] width and height of the small picture
    shift : float32 [shape=(n, 9, 16, 2)] movement of each cell, beyond `camera`
    certainty : float32 [shape=(n, 9, 16, 3)] inverse of the shift's error covariance, xx, xy, yy, 1/px^2: small where a cell has no texture to tell by,
        and along an edge, where movement along it cannot be seen
    rest : float32 [shape=(n, 9, 16)] RMS of the change that `shift` does not explain, 8-bit luma steps
    peak : float32 [shape=(n, 9, 16)] greatest change of a block's mean (a cell is 8 x 8 blocks), 8-bit luma steps
    mean : float32 [shape=(n, 9, 16)] mean luma of the cell, 8-bit steps
    """

    warped: npt.NDArray[np.bool_]
    camera: Floats
    left: Floats
    movement: Floats
    unmatched: Floats
    size: Floats
    shift: Floats
    certainty: Floats
    rest: Floats
    peak: Floats
    mean: Floats

    def __len__(self) -> int:
        return len(self.movement)

    def own(self) -> Floats:
        """float32 [shape=(n, 9, 16, 2)] movement of each cell against the set, the camera's taken out."""
        return np.asarray(self.shift - set_movement(self.left, self.size), np.float32)


def sureness(shift: Floats, certainty: Floats) -> Floats:
    """How many standard errors a shift [shape=(.., 2)] of this certainty [shape=(.., 3)] lies from none: float32 [shape=(..)].

    LEAST_ERROR is added to the standard error, so that the tiny shifts of an exact repeat weigh nothing.
    """
    u, v = shift[..., 0], shift[..., 1]
    square = certainty[..., 0] * u * u + 2 * certainty[..., 1] * u * v + certainty[..., 2] * v * v
    errors = np.sqrt(np.maximum(square, 0))
    length = np.hypot(u, v)
    return np.asarray(length * errors / np.maximum(length + LEAST_ERROR * errors, 1e-9), np.float32)


def cell_places() -> Floats:
    """float32 [shape=(9, 16, 2)]: x, y of the cells' centres, fractions of width and height."""
    x = (np.arange(COLUMNS) + 0.5) / COLUMNS
    y = (np.arange(LINES) + 0.5) / LINES
    return np.stack(np.meshgrid(x, y), axis=-1).astype(np.float32)


def set_movement(maps: Floats, size: Floats) -> Floats:
    """Movement [shape=(n, 9, 16, 2)] of the cells' centres by affine maps [shape=(n, 2, 3)]; px of pictures of `size` [shape=(n, 2)]."""
    places = cell_places()[None] * size[:, None, None, :]
    return np.asarray(np.einsum("nij,nrcj->nrci", maps[:, :, :2], places) + maps[:, None, None, :, 2], np.float32)


def take_apart(rows: Floats) -> Cells:
    """Rows [shape=(n, ROW)] as MovementReader makes them."""
    n = len(rows)
    cells = rows[:, HEAD:].reshape(n, PARTS, LINES, COLUMNS)
    return Cells(
        warped=rows[:, 0] > 0,
        camera=rows[:, 1:7].reshape(n, 2, 3),
        left=rows[:, 7:13].reshape(n, 2, 3),
        movement=rows[:, 13],
        unmatched=rows[:, 14],
        size=rows[:, 15:17],
        shift=np.moveaxis(cells[:, 0:2], 1, -1),
        certainty=np.moveaxis(cells[:, 2:5], 1, -1),
        rest=cells[:, 5],
        peak=cells[:, 6],
        mean=cells[:, 7],
    )


@dataclass(frozen=True)
class Movements:
    """Rows as MovementReader makes them, taken apart a stretch at a time: of a long movie they would fill the memory.

    rows : see take_apart; head : float32 [shape=(n, HEAD)] what they say of a frame as a whole, as in Cells
    """

    rows: Rows
    head: Floats

    def __len__(self) -> int:
        return len(self.head)

    @property
    def warped(self) -> npt.NDArray[np.bool_]:
        return self.head[:, 0] > 0

    @property
    def camera(self) -> Floats:
        return self.head[:, 1:7].reshape(-1, 2, 3)

    @property
    def left(self) -> Floats:
        return self.head[:, 7:13].reshape(-1, 2, 3)

    @property
    def movement(self) -> Floats:
        return self.head[:, 13]

    @property
    def unmatched(self) -> Floats:
        return self.head[:, 14]

    @property
    def size(self) -> Floats:
        return self.head[:, 15:17]

    def part(self, first: int, stop: int) -> Cells:
        """Of frames first .. stop - 1."""
        return take_apart(self.rows[first:stop])

    def parts(self) -> Iterator[Cells]:
        """All frames, a stretch at a time."""
        return (self.part(frames.start, frames.stop) for frames in stretches(len(self)))


def movements_of(rows: Rows) -> Movements:
    heads = [rows[frames.start : frames.stop][:, :HEAD].copy() for frames in stretches(len(rows))]
    return Movements(rows, np.concatenate([np.zeros((0, HEAD), np.float32), *heads]))


def stretches(frames: int) -> list[range]:
    """Of the length that rows are kept in."""
    return [block_frames(block, frames) for block in range(block_count(frames))]
