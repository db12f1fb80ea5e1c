"""What was learnt of a character in one shot, kept for its next: how its mouth and its eyes look. Plain arrays, no code."""

from __future__ import annotations

import io
import zipfile
from dataclasses import dataclass, field
from typing import Any

import numpy as np
import numpy.typing as npt

from shotcrit.errors import InputError
from shotcrit.readings.picture.eyes.fit import RINGS, EyeLook
from shotcrit.readings.picture.mouth.model import SIZE
from shotcrit.readings.picture.mouth.warp import MarkedMouth

VERSION = 1
MOST_MOUTHS = 64
"""More marked frames than anybody places; a file with more is not ours."""


@dataclass(frozen=True)
class CharacterModel:
    """mouths : steadied patches with their marks; eyes : by side"""

    who: str
    mouths: tuple[MarkedMouth, ...] = ()
    eyes: dict[str, EyeLook] = field(default_factory=dict)

    def to_bytes(self) -> bytes:
        """A .npz file."""
        arrays: dict[str, npt.NDArray[Any]] = {"version": np.array(VERSION), "who": np.array(self.who)}
        if self.mouths:
            arrays["patches"] = np.stack([m.patch for m in self.mouths])
            arrays["marks"] = np.stack([np.stack([m.left, m.right, m.upper, m.lower]) for m in self.mouths])
        for side, look in self.eyes.items():
            arrays[f"rings_{side}"] = look.rings
            arrays[f"eye_{side}"] = np.array([look.iris, look.lid_upper, look.lid_lower, look.opening])
        out = io.BytesIO()
        np.savez_compressed(out, **arrays)  # type: ignore[arg-type]
        return out.getvalue()

    @classmethod
    def from_bytes(cls, data: bytes, *, name: str = "the character's model") -> CharacterModel:
        """Inverse of to_bytes. Raises InputError, one sentence, for anything else."""
        try:
            with np.load(io.BytesIO(data), allow_pickle=False) as arrays:
                if int(arrays["version"]) != VERSION:
                    raise InputError(f"{name} was written by another version; measure the character's shot again")
                return cls(str(arrays["who"]), _mouths(arrays, name), _eyes(arrays, name))
        except (OSError, ValueError, KeyError, TypeError, EOFError, zipfile.BadZipFile) as problem:
            raise InputError(f"{name} is no model of a character; measure the character's shot again") from problem


def _mouths(arrays: np.lib.npyio.NpzFile, name: str) -> tuple[MarkedMouth, ...]:
    if "patches" not in arrays:
        return ()
    patches, marks = np.asarray(arrays["patches"], np.float32), np.asarray(arrays["marks"], np.float64)
    sound = patches.shape[1:] == (SIZE[1], SIZE[0]) and marks.shape == (len(patches), 4, 2) and len(patches) <= MOST_MOUTHS
    if not (sound and np.isfinite(patches).all() and np.isfinite(marks).all()):
        raise InputError(f"{name} holds mouths that cannot be; measure the character's shot again")
    return tuple(MarkedMouth(p, *m) for p, m in zip(patches, marks, strict=True))


def _eyes(arrays: np.lib.npyio.NpzFile, name: str) -> dict[str, EyeLook]:
    eyes = {}
    for side in ("left", "right"):
        if f"rings_{side}" not in arrays:
            continue
        rings, rest = np.asarray(arrays[f"rings_{side}"], np.float64), np.asarray(arrays[f"eye_{side}"], np.float64)
        if rings.shape != (RINGS,) or rest.shape != (4,) or not (np.isfinite(rings).all() and np.isfinite(rest).all()):
            raise InputError(f"{name} holds eyes that cannot be; measure the character's shot again")
        eyes[side] = EyeLook(rings, *(float(v) for v in rest))
    return eyes
