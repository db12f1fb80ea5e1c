"""A whole measurement as bytes, and back: one JSON text that says what stands where, then the arrays one after the other.

Nothing in the bytes is ever run: only classes that a Measured can hold by its type hints are made, from plain values.
"""

from __future__ import annotations

import dataclasses
import json
from collections.abc import Iterator, Mapping
from fractions import Fraction
from functools import cache
from pathlib import Path
from typing import Any, get_args, get_type_hints

import numpy as np
from pydantic import BaseModel, ValidationError

from shotcrit.checks.measured import Measured
from shotcrit.errors import ReadingError

_HEAD_BYTES = 8
"""Before the text: its length, little-endian."""
_GRAIN = 64
"""Arrays begin at multiples of this, so that every kind of number lies where the processor wants it."""
_OWN = "shotcrit."


def measured_to_bytes(measured: Measured) -> bytes:
    """Raises ReadingError for a value of a kind that is not known here."""
    packer = _Packer()
    said = json.dumps(packer.pack(measured), separators=(",", ":")).encode()
    head = len(said).to_bytes(_HEAD_BYTES, "little") + said
    return b"".join((head, bytes(-len(head) % _GRAIN), *packer.parts))


def measured_from_bytes(data: bytes) -> Measured:
    """Inverse of measured_to_bytes. Raises ReadingError for anything else."""
    try:
        stop = _HEAD_BYTES + int.from_bytes(data[:_HEAD_BYTES], "little")
        said = json.loads(data[_HEAD_BYTES:stop])
        found = _unpack(said, memoryview(bytearray(data[stop + -stop % _GRAIN :])))
    except (ValueError, KeyError, TypeError, AttributeError, IndexError, ArithmeticError, RecursionError, ValidationError) as problem:
        raise ReadingError("the kept measurement cannot be read; measure it again") from problem
    if not isinstance(found, Measured):
        raise ReadingError("the kept measurement is none; measure it again")
    return found


class _Packer:
    def __init__(self) -> None:
        self.parts: list[bytes] = []
        self._at = 0

    def pack(self, value: Any) -> Any:
        """Plain values as they are; all else as a list whose first item says what it is."""
        if value is None or isinstance(value, str | bool | int | float):
            return value
        if isinstance(value, np.ndarray):
            return self._array(value)
        if isinstance(value, np.generic):
            return value.item()
        if isinstance(value, tuple | list):
            return ["tuple" if isinstance(value, tuple) else "list", *map(self.pack, value)]
        if isinstance(value, Mapping):
            return ["dict", *([self.pack(k), self.pack(v)] for k, v in value.items())]
        if isinstance(value, Fraction | Path):
            return [type(value).__name__ if isinstance(value, Fraction) else "Path", str(value)]
        return self._own(value)

    def _array(self, array: Any) -> list[Any]:
        if array.dtype.hasobject:
            raise ReadingError(f"an array of {array.dtype} cannot be kept")
        begin, data = self._at, np.ascontiguousarray(array).tobytes()
        padded = data + bytes(-len(data) % _GRAIN)
        self.parts.append(padded)
        self._at += len(padded)
        return ["array", array.dtype.str, list(array.shape), begin]

    def _own(self, value: Any) -> list[Any]:
        name = _name(type(value))
        if name not in _classes():
            raise ReadingError(f"a {type(value).__name__} cannot be kept with a measurement")
        if isinstance(value, BaseModel):
            return [name, value.model_dump(mode="json", by_alias=True)]
        return [name, {f.name: self.pack(getattr(value, f.name)) for f in dataclasses.fields(value) if f.init}]


def _unpack(said: Any, arrays: memoryview) -> Any:
    if not isinstance(said, list):
        return said
    kind, *rest = said
    if kind == "array":
        dtype, shape, begin = np.dtype(rest[0]), tuple(rest[1]), int(rest[2])
        return (
            np.frombuffer(arrays, dtype, count=int(np.prod(shape, dtype=np.int64)), offset=begin).reshape(shape)
            if 0 not in shape
            else np.zeros(shape, dtype)
        )
    if kind in ("tuple", "list"):
        parts = [_unpack(part, arrays) for part in rest]
        return tuple(parts) if kind == "tuple" else parts
    if kind == "dict":
        return {_unpack(key, arrays): _unpack(value, arrays) for key, value in rest}
    if kind in ("Fraction", "Path"):
        return Fraction(rest[0]) if kind == "Fraction" else Path(rest[0])
    model = _classes()[kind]
    if issubclass(model, BaseModel):
        return model.model_validate(rest[0])
    return model(**{name: _unpack(value, arrays) for name, value in rest[0].items()})


@cache
def _classes() -> dict[str, type[Any]]:
    """Every class of our own that a Measured can hold, by name."""
    found: dict[str, type[Any]] = {}
    waiting: list[Any] = [Measured]
    while waiting:
        model = waiting.pop()
        if _name(model) not in found:
            found[_name(model)] = model
            if dataclasses.is_dataclass(model):
                waiting += [inner for hint in get_type_hints(model).values() for inner in _inside(hint)]
    return found


def _inside(hint: Any) -> Iterator[Any]:
    if isinstance(hint, type) and hint.__module__.startswith(_OWN) and (dataclasses.is_dataclass(hint) or issubclass(hint, BaseModel)):
        yield hint
    for part in get_args(hint):
        yield from _inside(part)


def _name(model: type[Any]) -> str:
    return f"{model.__module__}.{model.__qualname__}"
