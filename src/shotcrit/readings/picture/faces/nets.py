"""The two networks that find faces and points on them: published weights (build_steps/lent.py), run by OpenCV.

Face detector: Bazarevsky et al. 2019 (arXiv:1907.05047), short range. Face points: Kartynnik et al. 2019 (arXiv:1907.06724).
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import cv2
import numpy as np
import numpy.typing as npt

from shotcrit.errors import MissingExtra
from shotcrit.lent import lent_file

Floats = npt.NDArray[np.float32]
RGB = npt.NDArray[np.uint8]

SEEK, READ = 128, 192
"""px; sides of the squares that the detector and the points' network take."""
_PACKAGE = "mediapipe"
_DETECTOR, _POINTS = "face_detection_short_range.tflite", "face_landmark.tflite"
_STRIDES = ((8, 2), (16, 6))
"""px of a cell, and anchors in it."""
_OVERLAP = 0.3
"""Two boxes that share more than this part of both are one face."""


@dataclass(frozen=True)
class Box:
    """A face as the detector sees it. score : 0..1; x, y, size : middle and side; eyes : [shape=(2, 2)] screen left first; px of the square"""

    score: float
    x: float
    y: float
    size: float
    eyes: Floats


def weights() -> tuple[Path, Path]:
    """Where the weights of detector and points lie. Raises MissingExtra where they were not taken."""
    return lent_file(_PACKAGE, _DETECTOR), lent_file(_PACKAGE, _POINTS)


def weights_there() -> bool:
    try:
        weights()
    except MissingExtra:
        return False
    return True


class FaceNets:
    """Both networks, loaded. Not for two threads at once."""

    def __init__(self) -> None:
        detector, points = weights()
        # The classic engine answers with both outputs of one run; the new one runs the whole network for each (measured: half the time).
        self._detector = cv2.dnn.readNetFromTFLite(str(detector), engine=cv2.dnn.ENGINE_CLASSIC)
        self._points = cv2.dnn.readNetFromTFLite(str(points), engine=cv2.dnn.ENGINE_CLASSIC)
        self._anchors = _anchors()

    def seek(self, square: RGB, least: float) -> list[Box]:
        """Faces of a score of `least` or more in a square [shape=(SEEK, SEEK, 3)], best first."""
        self._detector.setInput(_signed(square))
        places, sure = _outputs(self._detector, ("regressors", 16), ("classificators", 1))
        scores = 1 / (1 + np.exp(-np.clip(sure[:, 0], -50, 50)))
        good = np.flatnonzero(scores >= least)
        if not len(good):
            return []
        moved = places[good].reshape(-1, 8, 2)
        moved[:, [0, *range(2, 8)]] += self._anchors[good][:, None] * SEEK
        found = [
            Box(float(scores[i]), float(m[0, 0]), float(m[0, 1]), float(m[1].max()), m[2:4].copy())
            for i, m in zip(good, moved, strict=True)
        ]
        return _apart(sorted(found, key=lambda box: -box.score))

    def again(self, square: RGB) -> float:
        """The best score of a face in the middle half of a square of any size [shape=(n, n, 3)], 0..1."""
        small = np.asarray(cv2.resize(square, (SEEK, SEEK), interpolation=cv2.INTER_AREA), np.uint8)
        self._detector.setInput(_signed(small))
        places, sure = _outputs(self._detector, ("regressors", 16), ("classificators", 1))
        middle = np.abs(self._anchors * SEEK + places[:, :2] - SEEK / 2).max(axis=1) < SEEK / 4
        return 1 / (1 + float(np.exp(-np.clip(sure[middle, 0].max(initial=-50.0), -50, 50))))

    def read(self, square: RGB) -> tuple[Floats, float]:
        """Points [shape=(468, 3)], px of the square, z towards the back; and how surely it is a face, 0..1. square : [shape=(READ, READ, 3)]"""
        self._points.setInput((square.astype(np.float32) / 255).transpose(2, 0, 1)[None])
        points, presence = _outputs(self._points, ("conv2d_21", 3), ("conv2d_31", 1))
        return points, 1 / (1 + float(np.exp(-np.clip(presence[0, 0], -50, 50))))


def _signed(square: RGB) -> Floats:
    """As the detector takes it: -1..1, colours first."""
    return np.asarray(((square.astype(np.float32) - 127.5) / 127.5).transpose(2, 0, 1)[None], np.float32)


def _outputs(net: cv2.dnn.Net, *wanted: tuple[str, int]) -> list[Floats]:
    """Outputs by name, each as rows of so many numbers."""
    found = net.forward([name for name, _ in wanted])
    return [np.asarray(one, np.float32).reshape(-1, each) for one, (_, each) in zip(found, wanted, strict=True)]


def _anchors() -> Floats:
    """Middles of the detector's cells, parts of the square, [shape=(896, 2)]."""
    found = []
    for stride, each in _STRIDES:
        side = SEEK // stride
        y, x = np.mgrid[:side, :side]
        cells = np.stack([x, y], axis=-1).reshape(-1, 2)
        found.append(np.repeat((cells + 0.5) / side, each, axis=0))
    return np.concatenate(found).astype(np.float32)


def _apart(boxes: list[Box]) -> list[Box]:
    """The best of those that lie over each other."""
    kept: list[Box] = []
    for box in boxes:
        if all(shared(box, other) < _OVERLAP for other in kept):
            kept.append(box)
    return kept


def shared(one: Box, other: Box) -> float:
    """Part of two boxes that both cover: intersection over union."""
    half = (one.size + other.size) / 2
    wide, high = (min(max(half - abs(d), 0.0), one.size, other.size) for d in (one.x - other.x, one.y - other.y))
    both = wide * high
    return both / max(one.size**2 + other.size**2 - both, 1e-9)
