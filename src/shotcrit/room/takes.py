"""Takes in the room: adding them, finding their movies again, lines, cast and hand-made corrections."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from contextlib import suppress
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from pydantic import BaseModel, ValidationError

from shotcrit.clock import rate_text
from shotcrit.crit.edits import Change, Clash, Edit, make, unmake, update
from shotcrit.crit.ids import new_id
from shotcrit.crit.recount import recounted
from shotcrit.crit.things import Correction, Note, Shot, SoundFacts, Take
from shotcrit.crit.view import View, need
from shotcrit.errors import InputError, ShotcritError
from shotcrit.measuring.request import said_from_text
from shotcrit.media.info import MovieInfo
from shotcrit.media.picture_files import plain_stem
from shotcrit.readings.cast import Cast, LookAt, Placed, parse_cast
from shotcrit.readings.sound.phoneset import PHONES
from shotcrit.room.editing import Editing
from shotcrit.room.shapes.common import Job
from shotcrit.room.shapes.notes import CorrectionPart, NewCorrection
from shotcrit.room.shapes.review import CastPut, LinesSaved, LooksPut, MarkPut, Media, MediaFile, NewLines, NewTake, TakePatch

SHOWN_SUFFIXES = frozenset(
    {".mov", ".mp4", ".m4v", ".mkv", ".webm", ".avi", ".mxf", ".wav", ".flac", ".aif", ".aiff", ".mp3", ".m4a", ".ogg"}
)
"""Endings offered for choosing; others can still be named."""
MOST_FILES = 500
"""Files offered for choosing."""


def take_of(info: MovieInfo, *, shot: str, number: int, older: Take | None = None, **more: Any) -> Take:
    """A new take of a medium; cast, lines and medium kind come from the take before."""
    size, modified = _stamp(info.path)
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


def _stamp(path: Path) -> tuple[int | None, float | None]:
    try:
        stat = path.stat()
    except OSError:
        return None, None
    return stat.st_size, stat.st_mtime


def is_as_seen(take: Take) -> bool:
    """Whether the movie lies where it lay, with the size and time stamp that it had: then it need not be read to know it."""
    return take.size is not None and _stamp(Path(take.path)) == (take.size, take.modified_s)


class Takes(Editing):
    def measure(self, take_id: str) -> Job:
        """Start measuring; the part of the room that measures answers."""
        raise NotImplementedError

    def takes(self) -> list[Take]:
        with self.crit.view() as view:
            return list(view.all(Take))

    def media_state(self, take: Take) -> Media:
        """By its place, size and time stamp; where those differ, by its hash."""
        path = Path(take.path)
        if _stamp(path)[0] is None and not _is_run(path):
            return Media(take=take.id, state="moved", says=f"{path.name} is not at {path.parent} any more; point the room to it")
        if is_as_seen(take) or self._same_medium(path, take):
            return Media(take=take.id, state="here", says="")
        return Media(take=take.id, state="changed", says=f"{path.name} is another file than the one reviewed; add it as a new take")

    def _same_medium(self, path: Path, take: Take) -> bool:
        key = (str(path), *_stamp(path), take.sha256)
        with self._memory:
            if key not in self.memory.hashes:
                self.memory.hashes[key] = self._sha256(path, take) == take.sha256
            return self.memory.hashes[key]

    def _sha256(self, path: Path, take: Take) -> str | None:
        with suppress(ShotcritError):
            return self.desk.look_at(path, sound=Path(take.sound_path) if take.sound_path else None)[0].sha256
        return None

    def media_files(self) -> list[MediaFile]:
        known = {t.path: t.id for t in self.takes()}
        found = [MediaFile(path=str(p), name=p.name, take=known.get(str(p))) for p in _files(self._folders())]
        return sorted(found, key=lambda f: f.path)[:MOST_FILES]

    def _folders(self) -> list[Path]:
        return list(dict.fromkeys([*self.roots, *(Path(t.path).parent for t in self.takes())]))

    def _allowed(self, path: str) -> Path:
        """The path, if it lies in a folder that this room may read. One sentence for all others, whatever lies there."""
        try:
            asked = Path(path).expanduser().resolve()
            inside = any(asked.is_relative_to(folder.resolve()) for folder in self._folders())
        except (OSError, ValueError, RuntimeError):
            inside = False
        if not inside:
            raise InputError("this room may not read there; put the movie into the crit's folder, or open it from the command line")
        return asked

    def add_take(self, body: NewTake, who: str) -> Take:
        info, _ = self.desk.look_at(self._allowed(body.path))
        added: list[str] = []

        def act(view: View) -> Edit:
            edit, take_id = add_take_edit(view, info, shot=body.shot, label=body.label)
            added[:] = [take_id]
            return edit

        self.store(who, act)
        return self.take(added[0])

    def change_take(self, take_id: str, body: BaseModel, who: str) -> Take:
        fields = self.fields(body)

        def act(view: View) -> Edit:
            if fields.get("one_thing") is not None:
                need(view, Note, fields["one_thing"])
            take = need(view, Take, take_id)
            asked = fields.get("first_frame")
            moved = recounted(take, asked) if isinstance(asked, int) else {}
            return Edit("change a take", update(take, {**fields, **moved}))

        base = body.version if isinstance(body, TakePatch | CastPut) else None
        return self.edited(Take, take_id, who, act, base=base)

    def find_movie(self, take_id: str, path: str, who: str) -> Media:
        """Where a movie lies is no part of the review: the edit cannot be undone."""
        take, asked = self.take(take_id), self._allowed(path)
        if self._sha256(asked, take) != take.sha256:
            raise InputError("that is not the movie of this take; look for the same file, or add it as a new take")
        size, modified = _stamp(asked)
        fields = {"path": str(asked), "size": size, "modified_s": modified}
        self.store(who, lambda view: Edit("find a movie", update(need(view, Take, take_id), fields)), undoable=False)
        return self.media_state(self.take(take_id))

    def put_lines(self, take_id: str, body: NewLines, who: str) -> LinesSaved:
        said_from_text(body.text)  # Refuses lines that cannot be read, before they are kept.
        fields = {"lines": body.text}
        take = self.edited(
            Take, take_id, who, lambda view: Edit("write the lines", update(need(view, Take, take_id), fields)), base=body.version
        )
        return LinesSaved(take=take, job=self.measure(take_id) if body.align else None)

    # Cast

    def put_cast(self, take_id: str, body: CastPut, who: str) -> Take:
        cast = _checked(body.cast)
        fields = {"cast": cast.model_dump(mode="json")}
        return self.edited(
            Take, take_id, who, lambda view: Edit("change the cast", update(need(view, Take, take_id), fields)), base=body.version
        )

    def put_mark(self, take_id: str, name: str, mark: str, body: MarkPut, who: str) -> Take:
        act = "place" if len(body.now) >= len(body.was) else "take off"
        label = f"{act} {name}'s {mark.replace('_', ' ')}"
        return self._recast(take_id, who, label, lambda take: _with_mark(take, name, mark, body.was, body.now))

    def put_looks(self, take_id: str, body: LooksPut, who: str) -> Take:
        return self._recast(take_id, who, "say who looks at what", lambda take: _with_looks(take, body.was, body.now))

    def _recast(self, take_id: str, who: str, label: str, change: Callable[[Take], Cast]) -> Take:
        def act(view: View) -> Edit:
            take = need(view, Take, take_id)
            return Edit(label, update(take, {"cast": _checked(change(take)).model_dump(mode="json")}))

        return self.edited(Take, take_id, who, act)

    # Corrections

    def corrections(self, take_id: str) -> list[Correction]:
        with self.crit.view() as view:
            need(view, Take, take_id)
            return list(view.all(Correction, take=take_id))

    def correct(self, take_id: str, body: NewCorrection, who: str) -> list[Correction]:
        ids = [part.replaces or new_id() for part in body.changes]

        def act(view: View) -> Edit:
            need(view, Take, take_id)
            return Edit("correct by hand", tuple(_correction_steps(view, take_id, list(zip(ids, body.changes, strict=True)))))

        self.store(who, act)
        return [c for c in self.corrections(take_id) if c.id in set(ids)]


def _correction_steps(view: View, take_id: str, parts: Sequence[tuple[str, CorrectionPart]]) -> Iterator[Change]:
    for name, part in parts:
        if part.replaces is None:
            fields = part.model_dump(exclude={"replaces"})
            yield make(_sound_correction({**fields, "id": name, "take": take_id}))
            continue
        old = need(view, Correction, part.replaces)
        if old.was is None and part.now is None:
            yield unmake(old)
        else:
            _sound_correction({**old.model_dump(mode="json"), "now": part.now})
            yield from update(old, {"now": part.now})


def _sound_correction(fields: dict[str, Any]) -> Correction:
    phone = (fields.get("now") or {}).get("phone")
    if phone is not None and phone not in PHONES:
        raise InputError(f"'{str(phone)[:20]}' is no phone; use one of {', '.join(PHONES)}")
    try:
        return Correction.model_validate(fields)
    except ValidationError as problem:
        said = problem.errors()[0]["msg"].lower()
        raise InputError(f"this correction is not right ({said}); correct it again") from problem


def _checked(cast: Cast) -> Cast:
    return parse_cast(cast.model_dump(mode="json"), name="the cast")


def _with_mark(take: Take, name: str, mark: str, was: Sequence[Placed], now: Sequence[Placed]) -> Cast:
    owner = next((m for m in take.cast.marked if m.name == name), None)
    if owner is None:
        raise InputError(f"'{name}' is not in the cast; add the character or prop first")
    if tuple(was) != owner.marks.get(mark, ()):
        raise Clash("take", take.id, take)
    marks = {**owner.marks, mark: tuple(now)}
    if not now:
        del marks[mark]
    changed = owner.model_copy(update={"marks": marks})
    characters = tuple(changed if t is owner else t for t in take.cast.characters)
    props = tuple(changed if t is owner else t for t in take.cast.props)
    return take.cast.model_copy(update={"characters": characters, "props": props})


def _with_looks(take: Take, was: Sequence[LookAt], now: Sequence[LookAt]) -> Cast:
    if tuple(was) != take.cast.looks:
        raise Clash("take", take.id, take)
    return take.cast.model_copy(update={"looks": tuple(now)})


def _is_run(path: Path) -> bool:
    """A run of pictures is named by a pattern, which is no file."""
    return any(sign in path.name for sign in "#%") and path.parent.is_dir()


def _files(folders: Sequence[Path]) -> Iterator[Path]:
    for folder in folders:
        with suppress(OSError):
            yield from (p for p in sorted(folder.iterdir()) if p.suffix.lower() in SHOWN_SUFFIXES and p.is_file())
