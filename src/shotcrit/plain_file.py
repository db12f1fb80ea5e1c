"""Reading a small file that somebody gave: only what is a file, and no more of it than such a file needs.

A pipe or a device has no end that could be waited for, so nothing but a plain file is opened at all.
"""

from __future__ import annotations

import stat
from pathlib import Path

from shotcrit.errors import InputError


def read_plain(path: Path, *, most: int, over: str, give: str) -> bytes:
    """The bytes of a file.

    most : bytes that such a file may have; over : ends the sentence about a larger one ('which no cast needs; give the cast's JSON file')
    give : what to give instead of what cannot be read ('a cast file that exists')
    Raises InputError, one sentence.
    """
    too_big = InputError(f"{path} is over {size_words(most)}, {over}")
    require_plain(path, give)
    try:
        if path.stat().st_size > most:
            raise too_big
        with path.open("rb") as file:
            data = file.read(most + 1)
    except (OSError, ValueError) as problem:
        raise _unreadable(path, problem, give) from problem
    if len(data) > most:  # files of the system say that they are empty
        raise too_big
    return data


def require_plain(path: Path, give: str) -> None:
    """Raise InputError, one sentence, for what is no plain file or not there. give : as in read_plain"""
    try:
        mode = path.stat().st_mode
    except (OSError, ValueError) as problem:
        raise _unreadable(path, problem, give) from problem
    if not stat.S_ISREG(mode):
        kind = "a folder" if stat.S_ISDIR(mode) else "a pipe or a device"
        raise InputError(f"{path} cannot be read (it is {kind} and not a file); give {give}")


def size_words(size: int) -> str:
    """Bytes in words: 4 MB, 200 kB."""
    return f"{size >> 20} MB" if size >= 1 << 20 else f"{size >> 10} kB"


def _unreadable(path: Path, problem: OSError | ValueError, give: str) -> InputError:
    reason = problem.strerror if isinstance(problem, OSError) and problem.strerror else str(problem)
    return InputError(f"{path} cannot be read ({reason}); give {give}")
