"""What was derived from media, in the user's cache folder: it can be deleted at any time and is made again.

    ROOT/media/ab/abcd.../readings/NAME-VERSION/00003.rows    finished blocks of a picture reading
    ROOT/media/ab/abcd.../parts/NAME-VERSION.part             anything else, as bytes
    ROOT/media/ab/abcd.../NAME-VERSION/                       a folder of files, such as the proxy
    ROOT/media/ab/abcd.../used                                when it was last asked for

Every file is written whole beside its place and then moved there, and carries a checksum; one that does not match is dropped
without a word and made again. So two processes may share the cache: at worst both do the same work.
"""

from __future__ import annotations

import hashlib
import io
import os
import re
import shutil
import tempfile
import time
from collections.abc import Iterable, Iterator
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import numpy.typing as npt
from platformdirs import user_cache_path

from shotcrit.errors import InputError
from shotcrit.media.sealed import remove
from shotcrit.media.whole import write_whole

FOLDER_SETTING = "SHOTCRIT_CACHE"
"""Environment: the cache folder."""
LIMIT_SETTING = "SHOTCRIT_CACHE_GB"
"""Environment: how large the cache may grow, in GB (10^9 bytes)."""
DEFAULT_LIMIT_GB = 20.0
"""Room for some two hours of shots: a proxy picture is about 0.1 MB, so an hour at 24 frames per second 9 GB. Guess."""

IN_USE_S = 3600.0
"""A medium asked for within the last hour is not trimmed: somebody may be looking at it."""

_GRAVE = ".gone-"
_MAGIC = b"shotcrit cache 1\n"
_SUM = hashlib.sha256().digest_size
_NAME = re.compile(r"[a-z0-9][a-z0-9_.\-]{0,99}")
_SHA = re.compile(r"[0-9a-f]{64}")

FloatArray = npt.NDArray[np.float32]


@dataclass(frozen=True)
class MediumCache:
    """What is kept of one medium. A BlockStore for media.passes."""

    folder: Path

    def load(self, name: str, version: int, block: int) -> FloatArray | None:
        """Rows of a block, or None when they are not there or not whole."""
        path = self._block(name, version, block)
        data = _read(path)
        if data is None:
            return None
        try:
            rows = np.load(io.BytesIO(data), allow_pickle=False)
        except (ValueError, EOFError, OSError):
            remove(path)
            return None
        return rows if isinstance(rows, np.ndarray) and rows.dtype == np.float32 else None

    def save(self, name: str, version: int, block: int, rows: FloatArray) -> None:
        """Raises MediaError when the disk is full; nothing half-written stays."""
        data = io.BytesIO()
        np.save(data, np.asarray(rows, np.float32), allow_pickle=False)
        self._write(self._block(name, version, block), data.getvalue())

    def get(self, name: str, version: int) -> bytes | None:
        """The bytes kept under a name, or None."""
        return _read(self._part(name, version))

    def put(self, name: str, version: int, data: bytes) -> None:
        """Keep bytes under a name. Raises MediaError when the disk is full."""
        self._write(self._part(name, version), data)

    def drop(self, name: str, version: int) -> None:
        """Forget what is kept under a name, as when it can no longer be read."""
        remove(self._part(name, version))

    def thin(self, prefix: str, most: int) -> None:
        """Forget all but the newest `most` of what is kept under names that begin with `prefix`."""
        parts = sorted((self.folder / "parts").glob(f"{_named(prefix)}*.part"), key=_modified, reverse=True)
        for path in parts[most:]:
            remove(path)

    def files(self, name: str, version: int) -> Path:
        """A folder for files that are written by others (the proxy); it need not exist."""
        self._touch()
        return self.folder / f"{_named(name)}-{version}"

    def _block(self, name: str, version: int, block: int) -> Path:
        return self.folder / "readings" / f"{_named(name)}-{version}" / f"{block:05d}.rows"

    def _part(self, name: str, version: int) -> Path:
        return self.folder / "parts" / f"{_named(name)}-{version}.part"

    def _write(self, path: Path, data: bytes) -> None:
        write_whole(path, _MAGIC + hashlib.sha256(data).digest() + data)
        self._touch()

    def _touch(self) -> None:
        with suppress(OSError):
            self.folder.mkdir(parents=True, exist_ok=True)
            (self.folder / "used").touch()


@dataclass(frozen=True)
class Cache:
    """The whole cache. limit : bytes that trim() brings it down to."""

    root: Path
    limit: int

    def medium(self, sha256: str) -> MediumCache:
        """What is kept of the medium with this hash; marks it as used now."""
        if not _SHA.fullmatch(sha256):
            raise InputError(f"'{sha256[:80]}' is no sha256 of a medium; give 64 hexadecimal digits")
        kept = MediumCache(self.root / "media" / sha256[:2] / sha256)
        kept._touch()
        return kept

    def size(self) -> int:
        """Bytes in the cache."""
        return sum(size for _, size in _files(self.root))

    def clear(self) -> None:
        """Delete everything. Raises nothing: what another process holds open goes when it is done."""
        _remove(self.root / "media")
        _sweep(self.root)

    def trim(self, keep: Iterable[str] = ()) -> int:
        """Delete whole media, the longest unused first, until the limit holds. Returns the bytes freed.

        keep : hashes that stay whatever happens; so do media used within IN_USE_S
        """
        kept, now, freed = set(keep), time.time(), 0
        media = sorted(self._media(), key=_last_used)
        sizes = {m: sum(size for _, size in _files(m)) for m in media}
        over = sum(sizes.values()) - self.limit
        for folder in media:
            if freed >= over:
                break
            if folder.name in kept or now - _last_used(folder) < IN_USE_S:
                continue
            _remove(folder)
            freed += sizes[folder]
        for folder in (self.root / "media").glob("??"):
            _sweep(folder)
        return freed

    def _media(self) -> list[Path]:
        return [p for p in (self.root / "media").glob("??/*") if _SHA.fullmatch(p.name)]


def open_cache(*, root: Path | None = None, limit_gb: float | None = None) -> Cache:
    """The user's cache, from the settings where not said. Raises InputError for a setting that is no number."""
    folder = root or Path(os.environ.get(FOLDER_SETTING) or user_cache_path("shotcrit"))
    return Cache(folder.expanduser(), int((_limit() if limit_gb is None else limit_gb) * 1e9))


def _limit() -> float:
    said = os.environ.get(LIMIT_SETTING, "")
    try:
        limit = float(said or DEFAULT_LIMIT_GB)
    except ValueError:
        limit = -1.0
    if not 0 <= limit < 1e9:
        raise InputError(f"{LIMIT_SETTING} is '{said}', which is no size; set it to a number of GB, such as 20")
    return limit


def _named(name: str) -> str:
    if not _NAME.fullmatch(name) or ".." in name:
        raise InputError(f"'{name[:80]}' cannot name a reading; use small letters, digits, dots and dashes")
    return name


def _read(path: Path) -> bytes | None:
    """What was written, or None; a file that is not whole is deleted."""
    try:
        data = path.read_bytes()
    except FileNotFoundError:
        return None
    except OSError:
        data = b""
    head, body = data[: len(_MAGIC) + _SUM], data[len(_MAGIC) + _SUM :]
    if head == _MAGIC + hashlib.sha256(body).digest():
        return body
    remove(path)
    return None


def _modified(path: Path) -> int:
    with suppress(OSError):
        return path.stat().st_mtime_ns
    return 0


def _files(folder: Path) -> Iterator[tuple[Path, int]]:
    """Every file under a folder with its size; files that vanish meanwhile are passed over."""
    for where, _, names in os.walk(folder):
        for name in names:
            path = Path(where) / name
            with suppress(OSError):
                yield path, path.stat().st_size


def _last_used(folder: Path) -> float:
    for path in (folder / "used", folder):
        with suppress(OSError):
            return path.stat().st_mtime
    return 0.0


def _remove(folder: Path) -> None:
    """Move a folder out of the way in one step, then delete it, so that nobody meets half of it."""
    if not folder.exists():
        return
    with suppress(OSError):
        grave = Path(tempfile.mkdtemp(prefix=_GRAVE, dir=folder.parent))
        folder.rename(grave / folder.name)
        shutil.rmtree(grave, ignore_errors=True)


def _sweep(folder: Path) -> None:
    """Finish deletions that were cut short."""
    for grave in folder.glob(f"{_GRAVE}*"):
        shutil.rmtree(grave, ignore_errors=True)
