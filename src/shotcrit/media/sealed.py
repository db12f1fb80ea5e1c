"""Files of the cache that carry their own checksum, so that one that was damaged on disk is noticed and made again."""

from __future__ import annotations

import shutil
from contextlib import suppress
from pathlib import Path
from zlib import crc32

MARK = b"seal"
SEAL = len(MARK) + 4
"""Bytes at the end; what shows a JPEG stops at its end marker and does not mind them (ITU-T T.81, B.1.1.3: EOI)."""


def sealed(data: bytes) -> bytes:
    """`data` with its CRC-32 behind it (ITU-T V.42): damage is to be noticed, not an attack."""
    return data + MARK + crc32(data).to_bytes(4, "little")


def opened(data: bytes) -> bytes | None:
    """What was sealed; None when it is not whole."""
    body, mark, crc = data[:-SEAL], data[-SEAL:-4], data[-4:]
    return body if mark == MARK and crc == crc32(body).to_bytes(4, "little") else None


def read_sealed(path: Path) -> bytes | None:
    """What was sealed in a file. None when it is not there; one that is damaged, or no file, is taken away."""
    try:
        data = opened(path.read_bytes())
    except FileNotFoundError:
        return None
    except OSError:
        data = None
    if data is None:
        remove(path)
    return data


def remove(path: Path) -> None:
    """Take away what lies in a cache file's place, a folder too. What cannot be taken away stays."""
    with suppress(OSError):
        if path.is_dir() and not path.is_symlink():
            shutil.rmtree(path)
        else:
            path.unlink()
