"""Where the movies of takes lie: whether they are still there, where further ones may come from, and finding one that was moved."""

from __future__ import annotations

import threading
from collections.abc import Iterator, Sequence
from contextlib import suppress
from pathlib import Path
from typing import Any

from shotcrit.crit.edits import Edit, update
from shotcrit.crit.records import Take
from shotcrit.crit.view import need
from shotcrit.errors import InputError, ShotcritError
from shotcrit.room.edits import Edits
from shotcrit.room.takes.adding import is_as_seen, stamp
from shotcrit.room.takes.shapes import Media, MediaFile
from shotcrit.room.worker import PictureMaker

SOUND_SUFFIXES = frozenset({".wav", ".flac", ".aif", ".aiff", ".mp3", ".m4a", ".ogg"})
SHOWN_SUFFIXES = SOUND_SUFFIXES | {".mov", ".mp4", ".m4v", ".mkv", ".webm", ".avi", ".mxf"}
"""Endings offered for choosing; others can still be named."""
MOST_FILES = 500
"""Files offered for choosing."""


class MediaPlaces:
    """roots : folders besides those of the takes' movies that this room may read."""

    def __init__(self, edits: Edits, worker: PictureMaker, roots: Sequence[Path]) -> None:
        self._edits = edits
        self._worker = worker
        self._roots = tuple(root.resolve() for root in roots)
        self._lock = threading.Lock()
        self._known: dict[tuple[Any, ...], bool] = {}
        """(path, size, time, sha256) -> whether it is that medium."""

    def state(self, take: Take) -> Media:
        """By its place, size and time stamp; where those differ, by its hash."""
        path = Path(take.path)
        if stamp(path)[0] is None and not _is_run(path):
            return Media(take=take.id, state="moved", says=f"{path.name} is not at {path.parent} any more; point the room to it")
        if is_as_seen(take) or self._is_medium(path, take):
            return Media(take=take.id, state="here", says="")
        return Media(take=take.id, state="changed", says=f"{path.name} is another file than the one reviewed; add it as a new take")

    def files(self) -> list[MediaFile]:
        """Movies and sounds to choose from, by path."""
        with self._edits.view() as view:
            known = {t.path: t.id for t in view.all(Take)}
        found = [MediaFile(path=str(p), name=p.name, take=known.get(str(p))) for p in _files(self._folders())]
        return sorted(found, key=lambda f: f.path)[:MOST_FILES]

    def allowed(self, path: str) -> Path:
        """The path, if it lies in a folder that this room may read. One sentence for all others, whatever lies there."""
        try:
            asked = Path(path).expanduser().resolve()
            inside = any(asked.is_relative_to(folder.resolve()) for folder in self._folders())
        except (OSError, ValueError, RuntimeError):
            inside = False
        if not inside:
            raise InputError("this room may not read there; put the movie into the crit's folder, or open it from the command line")
        return asked

    def find(self, take_id: str, path: str, who: str) -> Media:
        """Where a movie lies is no part of the review: the edit cannot be undone."""
        take, asked = self._edits.get(Take, take_id), self.allowed(path)
        if self._sha256(asked, take) != take.sha256:
            raise InputError("that is not the movie of this take; look for the same file, or add it as a new take")
        size, modified = stamp(asked)
        fields = {"path": str(asked), "size": size, "modified_s": modified}
        self._edits.store(who, lambda view: Edit("find a movie", update(need(view, Take, take_id), fields)), undoable=False)
        return self.state(self._edits.get(Take, take_id))

    def _folders(self) -> list[Path]:
        with self._edits.view() as view:
            takes = view.all(Take)
        return list(dict.fromkeys([*self._roots, *(Path(t.path).parent for t in takes)]))

    def _is_medium(self, path: Path, take: Take) -> bool:
        key = (str(path), *stamp(path), take.sha256)
        with self._lock:
            if key not in self._known:
                self._known[key] = self._sha256(path, take) == take.sha256
            return self._known[key]

    def _sha256(self, path: Path, take: Take) -> str | None:
        with suppress(ShotcritError):
            return self._worker.look_at(path, sound=Path(take.sound_path) if take.sound_path else None)[0].sha256
        return None


def _is_run(path: Path) -> bool:
    """A run of pictures is named by a pattern, which is no file."""
    return any(sign in path.name for sign in "#%") and path.parent.is_dir()


def _files(folders: Sequence[Path]) -> Iterator[Path]:
    for folder in folders:
        yield from files_in(folder)


def files_in(folder: Path) -> list[Path]:
    """Movies and sounds in a folder, sorted; none where it cannot be read."""
    with suppress(OSError):
        return [p for p in sorted(folder.iterdir()) if p.suffix.lower() in SHOWN_SUFFIXES and p.is_file()]
    return []
