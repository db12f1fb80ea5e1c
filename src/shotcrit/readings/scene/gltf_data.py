"""The bytes behind a glTF file: document, buffers, accessors, each checked before it is used."""

from __future__ import annotations

import base64
from pathlib import Path
from typing import Any
from urllib.parse import unquote

import numpy as np
import numpy.typing as npt

from shotcrit.errors import InputError
from shotcrit.readings.scene.model import BIGGEST_SCENE

_COMPONENTS = {5120: "i1", 5121: "u1", 5122: "<i2", 5123: "<u2", 5125: "<u4", 5126: "<f4"}
_WIDTHS = {"SCALAR": 1, "VEC2": 2, "VEC3": 3, "VEC4": 4, "MAT4": 16}
_NORMAL = {5120: 127.0, 5121: 255.0, 5122: 32767.0, 5123: 65535.0}


MOST_NUMBERS = 50_000_000
"""Keys of one accessor; above this a file is refused as hostile (guess: 52 morph weights over an hour at 60 a second are 11 million)."""


def load_document(path: Path) -> tuple[Any, list[bytes]]:
    """The parsed document and its buffers. Raises ValueError with a reason for broken files."""
    from pygltflib import GLTF2  # noqa: PLC0415 - a third of a second, for scenes alone

    if path.stat().st_size > BIGGEST_SCENE:
        raise InputError(f"it is larger than {BIGGEST_SCENE >> 30} GB")
    with path.open("rb") as file:
        binary = file.read(4) == b"glTF"
    document = GLTF2().load_binary(str(path)) if binary else GLTF2().load_json(str(path))
    if document is None:
        raise ValueError("it is empty")
    return document, [_buffer(document, buffer, path) for buffer in document.buffers or []]


def _buffer(document: Any, buffer: Any, path: Path) -> bytes:
    if not buffer.uri:
        blob = document.binary_blob()
        if blob is None:
            raise ValueError("its binary part is missing")
        return bytes(blob)
    if buffer.uri.startswith("data:"):
        return base64.b64decode(buffer.uri.partition(",")[2], validate=True)
    beside = (path.parent / unquote(buffer.uri)).resolve()
    if not beside.is_relative_to(path.parent.resolve()):
        raise ValueError("it points to a file outside its own folder")
    if not beside.is_file():
        raise ValueError(f"its buffer '{unquote(buffer.uri)[:60]}' is not beside it")
    if beside.stat().st_size > BIGGEST_SCENE:
        raise ValueError("the file beside it is too large")
    return beside.read_bytes()


class Accessors:
    """Numbers of a document by accessor index."""

    def __init__(self, document: Any, buffers: list[bytes]) -> None:
        self._document = document
        self._buffers = buffers

    def read(self, index: int) -> npt.NDArray[np.float64]:
        """float64 [shape=(count, width)], normalised integers as -1..1. Raises ValueError when it reaches outside its buffer."""
        accessor = self._document.accessors[index]
        width, kind = _WIDTHS[accessor.type], np.dtype(_COMPONENTS[accessor.componentType])
        if accessor.sparse is not None:
            raise ValueError("it stores its animation sparsely; export it without sparse accessors")
        if not 0 < accessor.count <= MOST_NUMBERS:
            raise ValueError(
                "it promises more numbers than any animation has" if accessor.count > 0 else "it holds an animation without keys"
            )
        if accessor.bufferView is None:
            return np.zeros((accessor.count, width))
        view = self._document.bufferViews[accessor.bufferView]
        stride = view.byteStride or width * kind.itemsize
        start = (view.byteOffset or 0) + (accessor.byteOffset or 0)
        data = self._buffers[view.buffer]
        end = start + (accessor.count - 1) * stride + width * kind.itemsize
        if accessor.count < 1 or start < 0 or end > len(data):
            raise ValueError("its numbers lie outside its buffer")
        rows = np.ndarray((accessor.count, width), kind, data, start, (stride, kind.itemsize)).astype(np.float64)
        if accessor.normalized:
            rows = np.maximum(rows / _NORMAL[accessor.componentType], -1)
        if not np.isfinite(rows).all():
            raise ValueError("it holds numbers that are none")
        return rows
