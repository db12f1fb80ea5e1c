"""The bytes behind a glTF file: document, buffers, accessors, each checked before it is used."""

from __future__ import annotations

import base64
import json
import struct
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


BIGGEST_DESCRIPTION = 64 * 2**20
"""Bytes of JSON; 200,000 nodes take 20 MB (guess: what is larger carries its numbers as text)."""
MOST_NUMBERS = 50_000_000
"""Keys of one accessor; above this a file is refused as hostile (guess: 52 morph weights over an hour at 60 a second are 11 million)."""


class Part(dict[str, Any]):
    """A JSON object whose fields are attributes; one that is left out, as the standard allows nearly all to be, is None."""

    def __getattr__(self, name: str) -> Any:
        return self.get(name)


def load_document(path: Path) -> tuple[Part, list[bytes]]:
    """The parsed document and its buffers. Raises ValueError with a reason for broken files, InputError for too large ones."""
    if path.stat().st_size > BIGGEST_SCENE:
        raise InputError(f"it is larger than {BIGGEST_SCENE >> 30} GB")
    text, blob = _chunks(path.read_bytes())
    if len(text) > BIGGEST_DESCRIPTION:
        raise InputError(f"its description is larger than {BIGGEST_DESCRIPTION >> 20} MB")
    document = json.loads(text.decode("utf-8-sig"), object_hook=Part)
    if not isinstance(document, Part):
        raise ValueError("it is empty")
    return document, [_buffer(buffer, blob, path) for buffer in document.buffers or []]


def _chunks(data: bytes) -> tuple[bytes, bytes | None]:
    """The description, and the binary part of a GLB (glTF 2.0 specification, 4.4: a header, then chunks of length, type, data)."""
    if data[:4] != b"glTF":
        return data, None
    if len(data) < 20 or struct.unpack_from("<I", data, 4)[0] != 2:
        raise ValueError("it is no GLB of version 2")
    found: dict[bytes, bytes] = {}
    at = 12
    while at + 8 <= len(data):
        length, kind = struct.unpack_from("<I4s", data, at)
        if at + 8 + length > len(data):
            raise ValueError("it is cut short")
        found.setdefault(kind, data[at + 8 : at + 8 + length])
        at += 8 + length
    if b"JSON" not in found:
        raise ValueError("it has no description")
    return found[b"JSON"], found.get(b"BIN\0")


def _buffer(buffer: Part, blob: bytes | None, path: Path) -> bytes:
    if not buffer.uri:
        if blob is None:
            raise ValueError("its binary part is missing")
        return blob
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
        accessor = (self._document.accessors or ())[index]
        width, kind = _WIDTHS[accessor.type], np.dtype(_COMPONENTS[accessor.componentType])
        if accessor.sparse is not None:
            raise ValueError("it stores its animation sparsely; export it without sparse accessors")
        if not isinstance(accessor.count, int):
            raise ValueError("an accessor does not say how many numbers it has")
        if not 0 < accessor.count <= MOST_NUMBERS:
            raise ValueError(
                "it promises more numbers than any animation has" if accessor.count > 0 else "it holds an animation without keys"
            )
        if accessor.bufferView is None:
            return np.zeros((accessor.count, width))
        view = (self._document.bufferViews or ())[accessor.bufferView]
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
