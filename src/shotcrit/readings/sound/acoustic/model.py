"""The US-English acoustic model inside pocketsphinx's wheel, as arrays: Gaussians, mixture weights, which states a phone has in which company.

File formats as the files say of themselves in their heads: Sphinx-3 parameter files and the binary model definition of SphinxBase.
"""

from __future__ import annotations

import struct
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt
from pocketsphinx import get_model_path

Floats = npt.NDArray[np.float32]
Ints = npt.NDArray[np.int64]

STATES = 3
"""Emitting states a phone."""
STREAMS, GAUSSIANS = 3, 128
"""Cepstra, their first and their second differences, each with so many Gaussians a phone."""
WEIGHT_STEP = 1024 * float(np.log(1.0001))
"""Natural log units a step of the stored mixture weights: one byte each, logarithms to the base 1.0001, shifted by 10 bits (SphinxBase)."""
LEAST_VARIANCE = 1e-4
"""SphinxBase's default floor."""
INSIDE, BEGINS, ENDS, SINGLE = range(4)
"""Where in its word a phone stands, as the model tells them apart."""
_ORDER = 0x11223344


@dataclass(frozen=True)
class AcousticModel:
    """names : the phones, silence and noises, in the model's order.

    tables : float32 [shape=(n_phones, 3, 27, 128)] so that [x**2, x, 1] @ table is the log of each Gaussian, per phone and stream
    weights : float32 [shape=(3, 128, n_senones)] mixture weights, linear
    stay, leave : float32 [shape=(n_phones, 3)] log probability of staying in a state for one row of 10 ms, and of going on
    alone : int [shape=(n_phones, 3)] senones of a phone in no company; keys, triphones : of a phone in company, see `senones`
    """

    names: tuple[str, ...]
    tables: Floats
    weights: Floats
    stay: Floats
    leave: Floats
    alone: Ints
    keys: Ints
    triphones: Ints

    def number(self, name: str) -> int:
        """The phone of that name."""
        return self.names.index(name)

    def senones(self, phone: int, left: int, right: int, place: int) -> Ints:
        """[shape=(3,)] the senones of a phone between two others, or of the phone by itself where the model never met it there."""
        key = _key(place, phone, left, right)
        at = int(np.searchsorted(self.keys, key))
        return self.triphones[at] if at < len(self.keys) and self.keys[at] == key else self.alone[phone]


@lru_cache(maxsize=1)
def load_model() -> AcousticModel:
    """The model, read once a process."""
    folder = Path(get_model_path("en-us/en-us"))
    names, alone, keys, triphones, senones = _definition((folder / "mdef").read_bytes())
    tables = _tables(_gaussians(folder / "means"), np.maximum(_gaussians(folder / "variances"), LEAST_VARIANCE))
    stay, leave = _transitions(folder / "transition_matrices")
    return AcousticModel(names, tables, _weights(folder / "sendump", senones), stay, leave, alone, keys, triphones)


def _key(place: Any, phone: Any, left: Any, right: Any) -> Any:
    """One number for a phone in its company: six bits each."""
    return ((place * 64 + phone) * 64 + left) * 64 + right


def _body(path: Path) -> tuple[bytes, int]:
    """The bytes of a Sphinx-3 file and where its numbers begin: after the head and the word that tells the byte order."""
    data = path.read_bytes()
    at = data.index(b"endhdr\n") + 7
    if struct.unpack_from("<I", data, at)[0] != _ORDER:
        raise ValueError(f"{path} is not little-endian")
    return data, at + 4


def _gaussians(path: Path) -> Floats:
    """float32 [shape=(n_phones, 3, 128, 13)]"""
    data, at = _body(path)
    phones, streams, density, length = struct.unpack_from("<4i", data, at)
    values = np.frombuffer(data, "<f4", phones * streams * density * length, at + 4 * (3 + streams + 1))
    return values.reshape(phones, streams, density, length)


def _tables(means: Floats, variances: Floats) -> Floats:
    inverse = 0.5 / variances
    height = -0.5 * np.log(2 * np.pi * variances).sum(axis=-1) - (means**2 * inverse).sum(axis=-1)
    parts = np.concatenate([-inverse, 2 * means * inverse, height[..., None]], axis=-1)
    return np.ascontiguousarray(np.moveaxis(parts, -1, -2), np.float32)


def _transitions(path: Path) -> tuple[Floats, Floats]:
    """Rows of counts: from a state to itself and to the ones after it."""
    data, at = _body(path)
    count, rows, columns, _ = struct.unpack_from("<4i", data, at)
    table = np.frombuffer(data, "<f4", count * rows * columns, at + 16).reshape(count, rows, columns)
    own = (table / table.sum(axis=2, keepdims=True))[:, np.arange(rows), np.arange(rows)]
    return np.log(np.maximum(own, 1e-8)), np.log(np.maximum(1 - own, 1e-8))


def _weights(path: Path, senones: int) -> Floats:
    stored = np.frombuffer(path.read_bytes(), np.uint8)[-STREAMS * GAUSSIANS * senones :].reshape(STREAMS, GAUSSIANS, senones)
    return np.exp(-WEIGHT_STEP * stored.astype(np.float32))


def _definition(data: bytes) -> tuple[tuple[str, ...], Ints, Ints, Ints, int]:
    """Names of the phones, their own states, the keys of the triphones in rising order, those triphones' states, the number of senones."""
    at = 12 + struct.unpack_from("<i", data, 8)[0]
    phones, total, _, _, senones, _, sequences, _, nodes, _ = struct.unpack_from("<10i", data, at)
    at += 40
    names: list[str] = []
    for _ in range(phones):
        end = data.index(b"\0", at)
        names.append(data[at:end].decode())
        at = end + 1
    at = (at + 3) // 4 * 4 + 8 * nodes
    table = np.frombuffer(data, np.dtype([("states", "<i4"), ("moves", "<i4"), ("is", "4u1")]), total, at)
    states = np.frombuffer(data, "<i2", sequences * STATES, at + 12 * total + 4).reshape(sequences, STATES).astype(np.int64)
    rows = table[phones:]
    keys = _key(*(rows["is"][:, k].astype(np.int64) for k in range(4)))
    order = np.argsort(keys)
    return tuple(names), states[table["states"][:phones]], keys[order], states[rows["states"][order]], senones
