"""Files that are whole or not there: written beside their place, then moved onto it."""

from __future__ import annotations

import os
import tempfile
from pathlib import Path

from shotcrit.errors import InputError


def write_whole(path: Path, data: bytes) -> None:
    """Write `data` to `path` so that no reader ever sees a part of it, and an older file stays if anything goes wrong.

    What is no file (a pipe, a terminal, /dev/null) is written to and stays what it is. Raises InputError, one sentence, when the place cannot be written.
    """
    if path.exists() and not path.is_file():
        _write_into(path, data)
        return
    try:
        handle, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name[:100]}.", suffix=".part")
    except OSError as problem:
        raise InputError(f"{path} cannot be written ({problem.strerror or problem}); choose a folder that exists and is yours") from problem
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(data)
        os.chmod(name, 0o666 & ~_mask())
        os.replace(name, path)
    except OSError as problem:
        raise InputError(f"{path} cannot be written ({problem.strerror or problem}); choose another place or free some room") from problem
    finally:
        Path(name).unlink(missing_ok=True)


def _write_into(path: Path, data: bytes) -> None:
    try:
        path.write_bytes(data)
    except OSError as problem:
        raise InputError(f"{path} cannot be written ({problem.strerror or problem}); choose another place or free some room") from problem


def _mask() -> int:
    """The user's file mask; reading it means setting it."""
    mask = os.umask(0o022)
    os.umask(mask)
    return mask
