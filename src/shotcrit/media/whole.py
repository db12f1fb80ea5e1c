"""Files that are whole or not there."""

from __future__ import annotations

import errno
import os
import tempfile
from contextlib import suppress
from pathlib import Path

from shotcrit.errors import MediaError
from shotcrit.media.sealed import remove

_TRIES = 3
"""A folder may be trimmed away by another process between making it and writing into it."""


def write_whole(path: Path, data: bytes) -> None:
    """Write a file so that it is there with all of `data` or not at all. Raises MediaError when the disk is full or closed to us."""
    for attempt in range(_TRIES):
        try:
            path.parent.mkdir(parents=True, exist_ok=True)
            _replace(path, data)
            return
        except FileNotFoundError as problem:
            if attempt == _TRIES - 1:
                raise cannot_write(path, problem) from problem
        except OSError as problem:
            raise cannot_write(path, problem) from problem


def _replace(path: Path, data: bytes) -> None:
    handle, temporary = tempfile.mkstemp(prefix=".part-", dir=path.parent)
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(data)
        with suppress(IsADirectoryError, PermissionError):
            os.replace(temporary, path)
            return
        # A folder in the file's place, or a file that is held there: gone after this, or the next try says why not.
        remove(path)
        os.replace(temporary, path)
    except BaseException:
        Path(temporary).unlink(missing_ok=True)
        raise


def cannot_write(path: Path, problem: OSError) -> MediaError:
    """One sentence on why a file could not be kept."""
    if problem.errno in (errno.ENOSPC, errno.EDQUOT):
        return MediaError(f"{path.parent} is on a full disk, so {path.name} was not written; make room and start again")
    return MediaError(f"{path} cannot be written ({problem.strerror or problem}); check the folder's permissions")
