"""What this machine has of what the work needs."""

from __future__ import annotations

import platform
import shutil
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from importlib.metadata import PackageNotFoundError, version
from importlib.resources import files

from shotcrit import __version__
from shotcrit.checks.installed import Installed, door
from shotcrit.errors import MissingExtra
from shotcrit.media.codecs import decoders
from shotcrit.readings.picture.faces.nets import FaceNets
from shotcrit.readings.sound.letters import guess_phones
from shotcrit.store.cache import open_cache

NEEDED = (
    "av",
    "numpy",
    "opencv-python-headless",
    "pocketsphinx",
    "opentimelineio",
    "typst",
    "fastapi",
    "sqlalchemy",
)
OPTIONAL = {"usd-core": "USD scenes"}
LITTLE_ROOM_GB = 2.0
"""Free space below which a proxy of a long movie may not fit (guess)."""


@dataclass(frozen=True)
class Health:
    """One line: what, whether it is good, a few words; needed: without it the main job does not run."""

    what: str
    good: bool
    says: str
    needed: bool = False


def examine() -> list[Health]:
    """Every line of the doctor's, in order."""
    return [*_program(), *_libraries(), *_media(), *_room(), *_cache()]


def _program() -> Iterator[Health]:
    yield Health("shotcrit", True, __version__)
    yield from _checks()
    yield Health(
        "Python", sys.version_info >= (3, 11), f"{platform.python_version()} on {platform.system()} {platform.machine()}", needed=True
    )


def _checks() -> Iterator[Health]:
    there = door()
    yield Health(
        "checks", bool(there.checks), f"{len(there.checks)}: {', '.join(_named(one) for one in there.checks.values())}", needed=True
    )
    for one in there.refused:
        yield Health(f"check {one.name}", False, f"of {one.made_by} is left out, since {one.why}; update that package, or remove it")


def _named(one: Installed) -> str:
    """A check by its id, a stranger's with its package."""
    return one.about.id if not one.source else f"{one.about.id} (of {one.made_by})"


def _installed(name: str) -> str | None:
    try:
        return version(name)
    except PackageNotFoundError:
        return None


def _libraries() -> Iterator[Health]:
    for name in NEEDED:
        found = _installed(name)
        yield Health(name, found is not None, found or f"install it with: pip install {name}", needed=True)
    for name, use in OPTIONAL.items():
        found = _installed(name)
        yield Health(name, found is not None, found or f"wanted for {use}; install it with: pip install 'shotcrit[scene]'")


def _media() -> Iterator[Health]:
    for codec, there in decoders().items():
        yield Health(f"read {codec}", there, "decoder there" if there else "this build of PyAV has no decoder for it")
    yield _unknown_words()
    yield _faces()


def _unknown_words() -> Health:
    try:
        return Health("unknown words", True, f"spoken by rule, offline (lantern: {' '.join(guess_phones('lantern')[0])})")
    except MissingExtra as problem:
        return Health("unknown words", False, str(problem), needed=True)


def _faces() -> Health:
    try:
        FaceNets()
    except MissingExtra as problem:
        return Health("faces", False, f"marks have to be placed by hand, since {problem}")
    return Health("faces", True, "found by weights that are here, offline; no one is recognised")


def _room() -> Iterator[Health]:
    page = files("shotcrit.room").joinpath("static", "index.html")
    yield Health("the room's page", page.is_file(), "built" if page.is_file() else "build it with: make setup")


def _cache() -> Iterator[Health]:
    cache = open_cache()
    folder = cache.root
    yield Health(
        "cache", True, f"{cache.size() / 1e9:.2f} GB in {folder}, at most {cache.limit / 1e9:.0f} GB; it can be deleted at any time"
    )
    place = next((p for p in (folder, *folder.parents) if p.exists()), folder)
    free = shutil.disk_usage(place).free / 1e9
    yield Health("disk", free > LITTLE_ROOM_GB, f"{free:.0f} GB free where the cache lies")
