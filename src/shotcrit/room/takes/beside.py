"""The shots before and after in the cut: the movies that lie beside a take's, in the order in which people would put their names."""

from __future__ import annotations

import re
import threading
from collections import OrderedDict
from pathlib import Path

from shotcrit.crit.records import Take
from shotcrit.crit.view import NotHere
from shotcrit.room.edits import Edits
from shotcrit.room.takes.adding import stamp
from shotcrit.room.takes.media import SOUND_SUFFIXES, files_in
from shotcrit.room.takes.shapes import ShotBeside, ShotsBeside, Side
from shotcrit.room.worker import PictureMaker

THUMB_PX = 480
"""Width of a picture of them: a thumbnail on a large screen (guess)."""
KEPT = 8
"""Pictures kept: both sides of a few takes."""
_VERSION = re.compile(r"[._ -]+(?:v|ver|version|take)[._ -]?\d+$", re.IGNORECASE)
"""What tells one take of a shot from another, at the end of a name (common practice, no source)."""


def natural(name: str) -> tuple[tuple[int, str], ...]:
    """As people count: shot 9 before shot 10, whatever stands before the number and however many noughts."""
    parts = re.split(r"(\d+)", name.casefold())
    return tuple((int(part), "") if part.isdecimal() else (-1, part) for part in parts if part)


def shot_name(path: Path) -> str:
    """A movie's name without the take's number: takes of one shot are no neighbours."""
    return _VERSION.sub("", path.stem) or path.stem


def shots_beside(movie: Path) -> dict[Side, Path]:
    """The newest takes of the shots before and after, as far as they lie in the movie's own folder."""
    newest: dict[tuple[tuple[int, str], ...], Path] = {}
    for path in sorted(files_in(movie.parent), key=lambda p: natural(p.stem)):
        if path.suffix.lower() not in SOUND_SUFFIXES:
            newest[natural(shot_name(path))] = path
    order = sorted(newest)
    own = natural(shot_name(movie))
    before, after = [name for name in order if name < own], [name for name in order if name > own]
    found: dict[Side, Path] = {}
    if before:
        found["before"] = newest[before[-1]]
    if after:
        found["after"] = newest[after[0]]
    return found


class BesideShots:
    def __init__(self, edits: Edits, worker: PictureMaker) -> None:
        self._edits = edits
        self._worker = worker
        self._lock = threading.Lock()
        self._made: OrderedDict[tuple[str, float | None, Side], bytes] = OrderedDict()

    def named(self, take_id: str) -> ShotsBeside:
        """What they are called, and where their pictures are to be had."""
        found = shots_beside(Path(self._edits.get(Take, take_id).path))
        said = {side: ShotBeside(name=shot_name(path), url=f"/beside/{take_id}/{side}.jpg") for side, path in found.items()}
        return ShotsBeside(before=said.get("before"), after=said.get("after"))

    def picture(self, take_id: str, side: Side) -> bytes:
        """The last picture of the shot before, or the first of the one after, as JPEG. Raises NotHere when there is none, MediaError when it cannot be read."""
        take = self._edits.get(Take, take_id)
        path = shots_beside(Path(take.path)).get(side)
        if path is None:
            raise NotHere(f"no shot {side} this one lies in its folder")
        key = (str(path), stamp(path)[1], side)
        with self._lock:
            if key in self._made:
                return self._made[key]
        data = picture_of(self._worker, take, path, None if side == "before" else 0, THUMB_PX)
        with self._lock:
            self._made[key] = data
            while len(self._made) > KEPT:
                self._made.popitem(last=False)
        return data


def picture_of(worker: PictureMaker, take: Take, path: Path, index: int | None, width: int) -> bytes:
    """Picture `index` (None: the last) of a movie that is no take, as JPEG. take : any, as a form to ask by. Raises NotHere when there is none."""
    info, clock = worker.look_at(path)
    at = len(clock) - 1 if index is None else index
    if not info.width or at >= len(clock):
        raise NotHere(f"{path.name} has no such picture")
    there = {"path": str(path), "sha256": info.sha256, "frames": len(clock), "first_frame": info.first_frame, "width": info.width}
    other = take.model_copy(update={**there, "height": info.height, "sound": None, "sound_path": None})
    return worker.wide_frame(other, at, min(width, info.width))
