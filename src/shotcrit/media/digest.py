"""The hash by which a medium is known: what it is, not where it lies."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable
from pathlib import Path

from shotcrit.errors import MediaError
from shotcrit.progress import Progress

_CHUNK = 1 << 22
"""Bytes read at a time."""


def file_digest(path: Path, progress: Progress) -> str:
    """sha256 of a file's bytes, in hex."""
    return _digest([path], progress, names=False)


def run_digest(files: Iterable[Path], progress: Progress) -> str:
    """sha256 over the names, lengths and bytes of picture files, in order."""
    return _digest(list(files), progress, names=True)


def joined_digest(*parts: str) -> str:
    """One digest of several, for pictures and a sound that lie in different files."""
    return hashlib.sha256("\n".join(parts).encode()).hexdigest()


def _digest(files: list[Path], progress: Progress, *, names: bool) -> str:
    seen = hashlib.sha256()
    done, total = 0, 0
    try:
        sizes = [f.stat().st_size for f in files]
        total = sum(sizes)
        for path, size in zip(files, sizes, strict=True):
            if names:
                seen.update(f"{path.name}\0{size}\0".encode("utf-8", "surrogateescape"))
            with path.open("rb") as file:
                while chunk := file.read(_CHUNK):
                    seen.update(chunk)
                    done += len(chunk)
                    progress.step("reading the file", done, total)
    except OSError as problem:
        raise MediaError(f"{problem.filename} cannot be read ({problem.strerror}); check that its disk is there") from problem
    return seen.hexdigest()
