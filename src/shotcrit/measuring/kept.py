"""Measurements as a whole in the cache, so that a shot that was measured is opened with its findings at once.

What names a measurement is all that it follows from: the movie's content and place, lines, cast, scene, limits, what was learnt of its characters, the
checks that are installed, and the program's own code. Whatever changes gives another name, and the shot is measured again, from those readings that are
still good.
"""

from __future__ import annotations

import hashlib
import json
from contextlib import suppress
from functools import cache
from pathlib import Path

import shotcrit
from shotcrit.checks.installed import door
from shotcrit.checks.measured import Measured
from shotcrit.errors import ReadingError
from shotcrit.measuring.characters import known_to
from shotcrit.measuring.kept_form import measured_from_bytes, measured_to_bytes
from shotcrit.measuring.request import MeasureRequest
from shotcrit.readings.picture.faces.nets import weights_there
from shotcrit.store.cache import MediumCache

VERSION = 1
"""Of the form in which measurements are kept."""
PREFIX = "measured-"
MOST_KEPT = 4
"""Measurements kept of one movie: as it is in a few crits, or before and after a change that is undone (guess)."""
MEASURING = ("checks", "clock", "geometry", "measuring", "media", "readings")
"""The parts of the program that a measurement follows from."""
SCENE_SUFFIXES = frozenset({".usd", ".usda", ".usdc", ".usdz", ".gltf", ".glb", ".bin", ".bvh"})
"""A scene may draw in others that lie beside it."""


def keep_measured(kept: MediumCache, request: MeasureRequest, sha256: str, measured: Measured) -> None:
    """Keep a measurement of the medium `sha256`, and let go of the oldest ones. Raises MediaError when the disk is full."""
    kept.put(measured_name(request, sha256), VERSION, measured_to_bytes(measured))
    kept.thin(PREFIX, MOST_KEPT)


def kept_measured(kept: MediumCache, request: MeasureRequest, sha256: str) -> Measured | None:
    """The measurement that this request of the medium `sha256` would make, if it was made before. Opens no movie."""
    name = measured_name(request, sha256)
    data = kept.get(name, VERSION)
    if data is None:
        return None
    try:
        return measured_from_bytes(data)
    except ReadingError:
        kept.drop(name, VERSION)
        return None


def measured_name(request: MeasureRequest, sha256: str) -> str:
    """Names a measurement in the cache by what it follows from."""
    names = [person.name for person in request.cast.characters] if request.cast else []
    follows = [
        weights_there(), code_digest(), _checks(), sha256, str(request.movie.absolute()), request.said_key,
        request.cast.model_dump_json() if request.cast else None, _scene_stamp(request.scene), str(request.sound), str(request.rate), request.first_frame,
        request.count_from, request.count_to, request.medium, sorted(request.limits.items()),
        {who: known.digest for who, known in known_to(request.learnt, names, sha256).items()},
    ]  # fmt: skip
    return PREFIX + hashlib.sha256(json.dumps(follows, sort_keys=True).encode()).hexdigest()


def _checks() -> list[list[object]]:
    """Which checks of which version make it, and which could not."""
    there = door()
    came: list[list[object]] = [[one.about.id, one.about.version, one.made_by, one.source] for one in there.checks.values()]
    refused: list[list[object]] = [[one.name, one.made_by, one.why] for one in there.refused]
    return [*came, *refused]


def _scene_stamp(scene: Path | None) -> list[list[object]]:
    """Name, size and time of a scene and of the scenes beside it."""
    if scene is None:
        return []
    found: list[list[object]] = [[str(scene.absolute())]]
    with suppress(OSError):
        for path in sorted(scene.parent.iterdir()):
            if path == scene or path.suffix.lower() in SCENE_SUFFIXES:
                found.append([path.name, path.stat().st_size, path.stat().st_mtime_ns])
    return found


@cache
def code_digest() -> str:
    """Hash of the code that measures: a measurement made by other code is not shown as if this one had made it."""
    home, seen = Path(shotcrit.__file__).parent, hashlib.sha256()
    for path in sorted(p for part in MEASURING for p in (home / part).rglob("*") if p.is_file() and p.suffix != ".pyc"):
        seen.update(f"{path.relative_to(home)}\0".encode() + path.read_bytes())
    return seen.hexdigest()
