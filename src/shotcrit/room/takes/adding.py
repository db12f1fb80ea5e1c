"""A medium becomes a take: what is known of it, what comes from the take before, and the edit that adds it."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from shotcrit.clock import rate_text
from shotcrit.crit.edits import Edit, make
from shotcrit.crit.ids import new_id
from shotcrit.crit.records import Shot, SoundFacts, Take
from shotcrit.crit.view import View, need
from shotcrit.media.info import MovieInfo
from shotcrit.media.picture_files import plain_stem


def take_of(info: MovieInfo, *, shot: str, number: int, older: Take | None = None, **more: Any) -> Take:
    """A new take of a medium; cast, lines and medium kind come from the take before."""
    size, modified = stamp(info.path)
    sound = info.sound and SoundFacts(
        rate=info.sound.rate, channels=info.sound.channels, offset_s=float(info.sound.offset_s), duration_s=float(info.sound.duration_s)
    )
    inherited = {} if older is None else older.model_dump(include={"lines", "medium", "animator", "scene"}) | {"cast": older.cast}
    facts = {
        "id": new_id(), "shot": shot, "number": number, "path": str(info.path.absolute()), "size": size, "modified_s": modified,
        "sha256": info.sha256, "frames": info.frames, "rate": rate_text(info.rate), "variable_rate": info.variable_rate,
        "width": info.width, "height": info.height, "first_frame": info.first_frame, "duration_s": float(info.duration_s),
        "sound": sound, "sound_path": None if info.sound_path is None else str(info.sound_path.absolute()),
        "added": datetime.now(UTC).isoformat(timespec="seconds"),
    }  # fmt: skip
    return Take.model_validate({**inherited, **facts, **more})


def add_take_edit(view: View, info: MovieInfo, *, shot: str | None, label: str = "", **more: Any) -> tuple[Edit, str]:
    """The edit that adds a medium as the next take of a shot, or as a new shot; and the take's id. A medium that is there already stays one take."""
    takes = view.all(Take)
    same = next((t for t in takes if t.sha256 == info.sha256 and shot in (None, t.shot)), None)
    if same is not None:
        return Edit("add a take", ()), same.id
    new_shot = Shot(id=new_id(), name=plain_stem(info.name)[:200] or "shot") if shot is None else None
    target = new_shot.id if new_shot else need(view, Shot, shot or "").id
    older = [t for t in takes if t.shot == target]
    last = max(older, key=lambda t: t.number, default=None)
    # A run of pictures brings its own numbers; a movie is counted as the take before it was.
    first = {} if last is None or info.numbered_from is not None else {"first_frame": last.first_frame}
    take = take_of(info, shot=target, number=last.number + 1 if last else 1, older=last, label=label, **{**first, **more})
    return Edit("add a take", (*((make(new_shot),) if new_shot else ()), make(take))), take.id


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
