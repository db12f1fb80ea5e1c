"""A medium becomes a take: what is known of it, what comes from the take before, and the edit that adds it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from shotcrit.clock import rate_text
from shotcrit.crit.edits import Edit, make
from shotcrit.crit.ids import new_id
from shotcrit.crit.records import Arrival, Shot, SoundFacts, Take
from shotcrit.crit.view import View, need
from shotcrit.media.info import MovieInfo
from shotcrit.media.picture_files import plain_stem
from shotcrit.takes.carried import without_frames


@dataclass(frozen=True)
class Added:
    """A take that is to be added. shot : the new shot that it begins; None where it is the next take of one that is there"""

    take: Take
    shot: Shot | None = None

    def edit(self, take: Take | None = None) -> Edit:
        """take : the same with more said of it; None as it is."""
        return Edit("add a take", (*((make(self.shot),) if self.shot else ()), make(take or self.take)))


def take_of(info: MovieInfo, *, shot: str, number: int, older: Take | None = None, **more: Any) -> Take:
    """A new take of a medium. Lines, medium kind, animator and who is in it come from the take before; what hangs on frames waits until both are lined up.

    The scene stays behind: it holds the old take's animation, and the new pictures would be judged by it.
    """
    size, modified = stamp(info.path)
    sound = info.sound and SoundFacts(
        rate=info.sound.rate, channels=info.sound.channels, offset_s=float(info.sound.offset_s), duration_s=float(info.sound.duration_s)
    )
    facts = {
        "id": new_id(), "shot": shot, "number": number, "path": str(info.path.absolute()), "size": size, "modified_s": modified,
        "sha256": info.sha256, "frames": info.frames, "rate": rate_text(info.rate), "variable_rate": info.variable_rate,
        "width": info.width, "height": info.height, "first_frame": info.first_frame, "duration_s": float(info.duration_s),
        "sound": sound, "sound_path": None if info.sound_path is None else str(info.sound_path.absolute()),
        "added": datetime.now(UTC).isoformat(timespec="seconds"),
    }  # fmt: skip
    return Take.model_validate({**({} if older is None else _inherited(older, more)), **facts, **more})


def _inherited(older: Take, given: dict[str, Any]) -> dict[str, Any]:
    """given : what was given with the new take; a cast of its own leaves nothing of the old one to wait for"""
    waits = ("words",) if "cast" in given else ("cast", "words")
    arrival = Arrival(after=older.id, waits=waits)
    return older.model_dump(include={"lines", "medium", "animator"}) | {"cast": without_frames(older.cast), "arrival": arrival}


def known_as(view: View, info: MovieInfo, shot: str | None) -> Take | None:
    """The newest take that is this medium already, of one shot or (None) of any."""
    same = [t for t in view.all(Take) if t.sha256 == info.sha256 and shot in (None, t.shot)]
    return max(same, key=lambda t: t.number, default=None)


def next_take(view: View, info: MovieInfo, *, shot: str | None, **more: Any) -> Added:
    """A medium as the next take of a shot, or (None) as the first of a new shot. Raises NotHere where there is no such shot."""
    new_shot = Shot(id=new_id(), name=plain_stem(info.name)[:200] or "shot") if shot is None else None
    target = new_shot.id if new_shot else need(view, Shot, shot or "").id
    last = max((t for t in view.all(Take) if t.shot == target), key=lambda t: t.number, default=None)
    # A run of pictures brings its own numbers; a movie is counted as the take before it was.
    first = {} if last is None or info.numbered_from is not None else {"first_frame": last.first_frame}
    take = take_of(info, shot=target, number=last.number + 1 if last else 1, older=last, **{**first, **more})
    return Added(take, new_shot)


def stamp(path: Path) -> tuple[int | None, float | None]:
    """Bytes and time stamp of a file; (None, None) where there is none."""
    try:
        stat = path.stat()
    except OSError:
        return None, None
    return stat.st_size, stat.st_mtime


def is_as_seen(take: Take) -> bool:
    """Whether the movie lies where it lay, with the size and time stamp that it had: then it need not be read to know it."""
    return take.size is not None and stamp(Path(take.path)) == (take.size, take.modified_s)
