"""Files that are whole or not there: written beside their place, then moved onto it."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from shotcrit.errors import InputError


def write_whole(path: Path, data: bytes) -> None:
    """Write `data` to `path` so that no reader ever sees a part of it, and an older file stays if anything goes wrong.

    What is no file (a pipe, a terminal, /dev/null) is written to and stays what it is. Raises InputError, one sentence, when the place cannot be written.
    """
    room = "choose another place or free some room"
    if path.exists() and not path.is_file():
        with _refused(path, room):
            path.write_bytes(data)
        return
    with _refused(path, "choose a folder that exists and is yours"):
        handle, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name[:100]}.", suffix=".part")
    try:
        with _refused(path, room):
            with os.fdopen(handle, "wb") as file:
                file.write(data)
            os.chmod(name, 0o666 & ~_mask())
            os.replace(name, path)
    finally:
        Path(name).unlink(missing_ok=True)


@contextmanager
def _refused(path: Path, advice: str) -> Iterator[None]:
    """One sentence for whatever the system says against writing."""
    try:
        yield
    except OSError as problem:
        raise InputError(f"{path} cannot be written ({problem.strerror or problem}); {advice}") from problem


def _mask() -> int:
    """The user's file mask; reading it means setting it."""
    mask = os.umask(0o022)
    os.umask(mask)
    return mask
