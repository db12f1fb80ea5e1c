"""Level-2 acting as one .npz file, for the cache: what was measured once from a movie and a cast need not be measured again.

The key names the movie, the marks, the cuts and the version of the measuring; looks and contacts do not change what is measured, so they are not in it.
"""

from __future__ import annotations

import hashlib
import io
import json
import zipfile
from collections.abc import Iterable, Sequence
from typing import Any

import numpy as np
import numpy.typing as npt

from shotcrit.errors import ReadingError
from shotcrit.readings.acting import Across, Acting, Gaze, Head, MarkTrack, Mouth, Spot
from shotcrit.readings.cast import Cast
from shotcrit.readings.picture.acting import VERSION

Arrays = dict[str, npt.NDArray[Any]]

_MOUTH = ("opening", "width", "opening_error", "width_error", "meets", "teeth_on_lip")
_GAZE = ("origin", "direction", "error_deg", "iris")
_ACROSS = ("y", "error_px", "noise_px")
_HEAD = ("direction", "height_px", "steady")


def acting_key(movie_sha256: str, cast: Cast, cuts: Sequence[int], *, first_frame: int = 1) -> str:
    """Hex digest under which acting_from_marks's answer may be kept."""
    marks = [[type(p).__name__, p.name, {n: [s.model_dump() for s in spots] for n, spots in p.marks.items()}] for p in cast.marked]
    text = json.dumps([VERSION, movie_sha256, marks, sorted(cuts), first_frame], sort_keys=True)
    return hashlib.sha256(text.encode()).hexdigest()


def acting_to_bytes(acting: Iterable[Acting]) -> bytes:
    """A .npz file: one JSON text for what is said, one array for each series."""
    arrays: Arrays = {}
    said = [_pack(a, f"{i}.", arrays) for i, a in enumerate(acting)]
    arrays["said"] = np.array(json.dumps({"version": VERSION, "acting": said}))
    out = io.BytesIO()
    np.savez_compressed(out, allow_pickle=False, **arrays)
    return out.getvalue()


def acting_from_bytes(data: bytes) -> tuple[Acting, ...]:
    """Inverse of acting_to_bytes. Raises ReadingError for anything else, so that a damaged cache is measured anew."""
    try:
        with np.load(io.BytesIO(data), allow_pickle=False) as file:
            said = json.loads(str(file["said"]))
            if said["version"] != VERSION:
                raise ReadingError("the kept acting was measured by another version; measure it again")
            return tuple(_unpack(a, f"{i}.", file) for i, a in enumerate(said["acting"]))
    except (OSError, ValueError, KeyError, TypeError, AttributeError, EOFError, zipfile.BadZipFile) as problem:
        raise ReadingError("the kept acting cannot be read; measure it again") from problem


def _pack(acting: Acting, at: str, arrays: Arrays) -> dict[str, Any]:
    for name, track in acting.marks.items():
        arrays[f"{at}mark.{name}.xy"], arrays[f"{at}mark.{name}.error"] = track.xy, track.error_px
        if track.noise_px is not None:
            arrays[f"{at}mark.{name}.noise"] = track.noise_px
        for part in _ACROSS if track.across is not None else ():
            arrays[f"{at}mark.{name}.across.{part}"] = getattr(track.across, part)
    parts = [("mouth", acting.mouth, _MOUTH), ("head", acting.head, _HEAD), *((f"gaze.{s}", g, _GAZE) for s, g in acting.gaze.items())]
    for part, value, names in parts:
        for name in names if value is not None else ():
            if (series := getattr(value, name)) is not None:
                arrays[f"{at}{part}.{name}"] = series
    for side, series in acting.lids.items():
        arrays[f"{at}lids.{side}"] = series
    return {
        "who": acting.who,
        "lacks": dict(acting.lacks),
        "marks": {n: list(t.placed) for n, t in acting.marks.items()},
        "instead": {n: [t.instead.index, t.instead.x, t.instead.y] for n, t in acting.marks.items() if t.instead is not None},
        "taught": None if acting.mouth is None else list(acting.mouth.taught),
        "head": acting.head is not None,
        "gaze": {s: g.radius_px for s, g in acting.gaze.items()},
        "lids": list(acting.lids),
        "worth": dict(acting.worth),
    }


def _unpack(said: dict[str, Any], at: str, file: Any) -> Acting:
    who = said["who"]

    def of(part: str, names: Sequence[str]) -> dict[str, Any]:
        return {n: file[f"{at}{part}.{n}"] for n in names if f"{at}{part}.{n}" in file}

    marks = {}
    for name, placed in said["marks"].items():
        xy, error, noise = (file[key] if (key := f"{at}mark.{name}.{part}") in file else None for part in ("xy", "error", "noise"))
        if xy is None or error is None:
            raise KeyError(name)
        outline = of(f"mark.{name}.across", _ACROSS)
        marks[name] = MarkTrack(
            who, name, xy, error, tuple(placed), noise_px=noise,
            across=Across(**outline) if outline else None, instead=Spot(*said["instead"][name]) if name in said["instead"] else None,
        )  # fmt: skip
    mouth = None if said["taught"] is None else Mouth(**of("mouth", _MOUTH), taught=tuple(said["taught"]))
    head = Head(**of("head", _HEAD)) if said["head"] else None
    gaze: Any = {s: Gaze(**of(f"gaze.{s}", _GAZE), radius_px=radius) for s, radius in said["gaze"].items()}
    lids: Any = {s: file[f"{at}lids.{s}"] for s in said["lids"]}
    return Acting(who, 2, marks, mouth, gaze, lids, head, said["lacks"], said["worth"])
