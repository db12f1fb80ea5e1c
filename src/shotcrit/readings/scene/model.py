"""A scene as it is needed here: where every named node is on every frame, and what the cameras saw. World: metres, y up, right-handed."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

from shotcrit.counted import counted
from shotcrit.errors import InputError

Array = npt.NDArray[np.float64]

BIGGEST_SCENE = 2 * 2**30
"""Bytes; larger files are refused (guess: a character with cloth caches stays below)."""
MOST_NODES = 200_000
"""Nodes; above this a file is refused as hostile (guess)."""
MOST_MATRICES = 4_000_000
"""Nodes times frames; half a GB of matrices, above which a file is refused (guess: 5,000 nodes over half a minute are 3.6 million)."""


def check_nodes(nodes: int, frames: int) -> None:
    """Raise InputError, with the reason alone, when a file's nodes are more than can be held for every frame."""
    most = min(MOST_NODES, MOST_MATRICES // max(frames, 1))
    if nodes > most:
        raise InputError(f"it holds more than the {most:,} nodes that can be read over {counted(frames, 'frame')}")


@dataclass(frozen=True)
class SceneCamera:
    """A camera's lens over time; its place is the node of the same name. Looks along its own -z, y up (USD, glTF).

    focal_mm, back_width_mm, back_height_mm : float64 [shape=(n_frames,)], or vertical_fov_deg where the file gives only that
    """

    node: str
    focal_mm: Array | None = None
    back_width_mm: Array | None = None
    back_height_mm: Array | None = None
    vertical_fov_deg: Array | None = None


@dataclass(frozen=True)
class Scene:
    """name: file name, for messages.

    nodes : by name, local-to-world [shape=(n_frames, 4, 4)], metres
    rest : by name, local-to-world without animation [shape=(4, 4)]
    paths : every node's name to its path(s), for the report of what is where
    morphs : by 'node.target', weight [shape=(n_frames,)]
    says : what was assumed on the way (rates, offsets, units), one sentence each
    """

    name: str
    kind: str
    nodes: Mapping[str, Array]
    rest: Mapping[str, Array]
    cameras: Mapping[str, SceneCamera] = field(default_factory=dict)
    morphs: Mapping[str, Array] = field(default_factory=dict)
    says: tuple[str, ...] = ()


@dataclass(frozen=True)
class Sampling:
    """When the scene is asked: the seconds of each frame's start, from the first picture, and how the frames are numbered and timed.

    offset_s : scene time of the first picture, in seconds from the start of the scene's own animation
    """

    seconds: Array
    rate: float
    first_frame: int
    offset_s: float = 0.0


def position(matrices: Array) -> Array:
    """World positions [shape=(n, 3)] of matrices [shape=(n, 4, 4)]."""
    return matrices[:, :3, 3]


def short_names(paths: list[str], separator: str) -> dict[str, str]:
    """Every path by a name to call it: its last part where that is unique, and always the whole path."""
    leaves = [path.rsplit(separator, 1)[-1] for path in paths]
    often = Counter(leaves)
    names = {path: path for path in paths}
    for leaf, path in zip(leaves, paths, strict=True):
        if often[leaf] == 1:
            names[leaf] = path
    return names
