"""The cast of a shot: characters, props, marks, looks, contacts, cameras. JSON as in docs/reference/cast.md."""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Iterable
from functools import partial
from pathlib import Path
from typing import Annotated, Any, Literal

from pydantic import BaseModel, ConfigDict, Field, ValidationError

from shotcrit.errors import InputError
from shotcrit.plain_file import read_plain
from shotcrit.readings.events import Look

_SIDED = ("mouth", "eye", "iris", "lid_upper", "lid_lower", "brow", "shoulder", "hand", "foot", "knee")
MARK_NAMES: frozenset[str] = frozenset(
    {f"{part}_{side}" for part in _SIDED for side in ("left", "right")}
    | {"eye_left_edge", "eye_right_edge", "lip_upper", "lip_lower", "nose", "chin", "head_top", "chest", "hips"}
)
"""Marks of a character that checks know. Left and right are the character's own. A prop may use any name."""
HEAD_MARKS = ("nose", "chin", "head_top")
"""What steadies a head and gives its size."""
MOUTH_MARKS = ("mouth_left", "mouth_right", "lip_upper", "lip_lower")
EYE_MARKS = (
    *(f"{part}_{side}" for part in ("eye", "iris", "lid_upper", "lid_lower") for side in ("left", "right")),
    "eye_left_edge",
    "eye_right_edge",
)
SCENE_PARTS: frozenset[str] = MARK_NAMES | {"head", "jaw", "neck", "spine"}
"""Parts of a character that a scene node can stand for."""

BIGGEST_FILE = 64 * 2**20
"""Bytes; a cast file above this is not read (guess: a mark on every frame of a minute takes 2 MB)."""

MOST_PARTS = {"characters": 200, "props": 500, "contacts": 2_000, "looks": 2_000, "cameras": 2_000, "faces": 2_000}
"""Parts of a cast; above these it is not read (guess: a crowd shot with a contact for every hand stays below)."""
MOST_TRACKS = 2_000
"""Marks of a cast, each followed through the shot (guess: twenty characters with all marks have 600)."""
MOST_PLACES = 200_000
"""Placed marks of a cast (guess: sixty marks on every frame of two minutes are 170 thousand)."""

Name = Annotated[str, Field(min_length=1, max_length=100)]
Frame = Annotated[int, Field(ge=-10_000_000, le=10_000_000)]


class _Part(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True, allow_inf_nan=False)


class Placed(_Part):
    """A mark on one shown frame; x, y fractions of the picture's width and height, origin top left. It may lie outside."""

    frame: Frame
    x: Annotated[float, Field(ge=-2, le=3)]
    y: Annotated[float, Field(ge=-2, le=3)]


class Point(_Part):
    """A point of the picture, in fractions of its width and height."""

    x: float
    y: float


class Marked(_Part):
    """What carries marks: placed in the picture, or named nodes of the scene, or both."""

    name: Name
    marks: dict[str, tuple[Placed, ...]] = {}
    scene: dict[str, str] = {}


class Character(Marked):
    """Marks are named as in MARK_NAMES, scene parts as in SCENE_PARTS."""


class Prop(Marked):
    """Marks and scene parts have any name."""


class Contact(_Part):
    """Two marks ('Ada.hand_right', 'kite.handle') that must not slide on each other, over shown frames first..last."""

    a: str
    b: str
    first: Frame
    last: Frame


Side = Literal["left", "right", "up", "down", "behind"]
"""Of the screen; behind: behind the lens."""


class LookAt(_Part):
    """Who looks at what; whole shot when no frames are given. off: roughly where `at` is while the picture does not show it."""

    who: Name
    at: str | Point
    first: Frame | None = None
    last: Frame | None = None
    off: Side | None = None


class SceneCamera(_Part):
    node: Name
    first: Frame
    last: Frame


class FaceOf(_Part):
    """Whose face lies at a point of the picture on one shown frame, as a person said; nobody's where `who` is left out."""

    who: Name | None = None
    frame: Frame
    x: Annotated[float, Field(ge=0, le=1)]
    y: Annotated[float, Field(ge=0, le=1)]


class Cast(_Part):
    characters: tuple[Character, ...] = ()
    props: tuple[Prop, ...] = ()
    contacts: tuple[Contact, ...] = ()
    looks: tuple[LookAt, ...] = ()
    cameras: tuple[SceneCamera, ...] = ()
    faces: tuple[FaceOf, ...] = ()
    metres_per_unit: Annotated[float, Field(gt=0, le=1e6)] = 1.0

    def character(self, name: str) -> Character | None:
        return next((c for c in self.characters if c.name == name), None)

    @property
    def marked(self) -> tuple[Marked, ...]:
        """Characters, then props."""
        return (*self.characters, *self.props)


def given_looks(cast: Cast, *, first_frame: int, frames: int) -> tuple[Look, ...]:
    """The looks that people said, over frame indices, cut to the movie's frames; a point is named 'a point'."""
    found = []
    for look in cast.looks:
        first = 0 if look.first is None else max(0, look.first - first_frame)
        last = frames - 1 if look.last is None else min(frames - 1, look.last - first_frame)
        if first <= last:
            found.append(Look(look.who, look.at if isinstance(look.at, str) else "a point", first, last))
    return tuple(found)


def read_cast(path: Path) -> Cast:
    """Read a cast file. Raises InputError, one sentence, for anything that is not a sound cast."""
    data = read_plain(path, most=BIGGEST_FILE, over="which no cast needs; give the cast's JSON file", give="a cast file that exists")
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as problem:
        raise InputError(f"{path} is not UTF-8 text; save the cast as UTF-8") from problem
    try:
        return parse_cast(json.loads(text, object_pairs_hook=partial(_once, path)), name=str(path))
    except (ValueError, RecursionError) as problem:
        where = f"line {problem.lineno}" if isinstance(problem, json.JSONDecodeError) else _odd_json(problem)
        raise InputError(f"{path} is not JSON ({where}); mend it there") from problem


def _odd_json(problem: ValueError | RecursionError) -> str:
    """Python reads whole numbers of 4,300 digits at most."""
    return "too deeply nested" if isinstance(problem, RecursionError) else "a number in it has thousands of digits"


def _twice(names: Iterable[Any]) -> list[Any]:
    """What stands more than once, sorted."""
    return sorted(name for name, often in Counter(names).items() if often > 1)


def _check_size(data: Any, name: str) -> None:
    """Count before anything is built of it: what is over these bounds takes minutes to check alone."""
    if not isinstance(data, dict):
        return
    for part, most in MOST_PARTS.items():
        if isinstance(listed := data.get(part), list) and len(listed) > most:
            raise InputError(f"{name} has {len(listed):,} {part}, and {most:,} are the most that are read; give those of this shot")
    parts = [data[part] for part in ("characters", "props") if isinstance(data.get(part), list)]
    marked = [one.get("marks") for part in parts for one in part if isinstance(one, dict)]
    tracks = [track for marks in marked if isinstance(marks, dict) for track in marks.values() if isinstance(track, list)]
    places = sum(len(track) for track in tracks)
    if len(tracks) > MOST_TRACKS or places > MOST_PLACES:
        many = f"{len(tracks):,} {'mark' if len(tracks) == 1 else 'marks'} in {places:,} places"
        raise InputError(
            f"{name} has {many}, and {MOST_TRACKS:,} in {MOST_PLACES:,} are the most that are read; leave out those that no check uses"
        )


def _once(path: Path, pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    """A JSON object's fields; JSON itself would let the last of two win in silence."""
    for twice in _twice(name for name, _ in pairs):
        raise InputError(f"{path}: '{twice[:60]}' stands twice in one object; keep one of the two")
    return dict(pairs)


_WANTED = {
    "missing": "it is missing",
    "extra_forbidden": "a cast has no such field",
    "greater_than_equal": "it has to be {ge:g} or more",
    "less_than_equal": "it has to be {le:g} or less",
    "greater_than": "it has to be more than {gt:g}",
    "string_type": "it has to be text",
    "int_type": "it has to be a whole number",
    "int_parsing": "it has to be a whole number",
    "int_from_float": "it has to be a whole number",
    "float_type": "it has to be a number",
    "float_parsing": "it has to be a number",
    "finite_number": "it has to be a number",
    "tuple_type": "it has to be a list in brackets",
    "list_type": "it has to be a list in brackets",
    "dict_type": "it has to be an object in braces",
    "model_type": "it has to be an object in braces",
}
"""What was wanted, in words for those who write a cast; by Pydantic's names for what is wrong."""


def parse_cast(data: Any, *, name: str) -> Cast:
    """Check decoded JSON. `name` says in errors where it came from."""
    _check_size(data, name)
    try:
        cast = Cast.model_validate(data)
    except ValidationError as problem:
        first = problem.errors()[0]
        where = ".".join(str(part) for part in first["loc"]) or "the whole"
        wanted = _WANTED.get(first["type"], first["msg"].lower()).format_map(first.get("ctx", {}))
        raise InputError(f"{name}: {where} is not right ({wanted}); see the cast page of the docs") from problem
    _check_names(cast, name)
    _check_frames(cast, name)
    return cast


def _check_frames(cast: Cast, name: str) -> None:
    """A range that runs backwards would never be judged, and of one mark's two places on one frame neither is known to be meant."""
    for what, parts in (("contact", cast.contacts), ("look", cast.looks), ("camera", cast.cameras)):
        for part in parts:
            if part.first is not None and part.last is not None and part.first > part.last:
                raise InputError(f"{name}: a {what} goes from frame {part.first} to {part.last}; put the earlier frame first")
    for owner in cast.marked:
        for mark, places in owner.marks.items():
            for twice in _twice(place.frame for place in places):
                raise InputError(f"{name}: {owner.name}'s {mark} is placed twice on frame {twice}; keep one of the two")


def _check_names(cast: Cast, name: str) -> None:
    names = {part.name for part in cast.marked}
    for twice in _twice(part.name for part in cast.marked):
        raise InputError(f"{name}: '{twice}' stands twice in the cast; give each character and prop a name of its own")
    for person in cast.characters:
        for mark in sorted(set(person.marks) - MARK_NAMES):
            raise InputError(f"{name}: {person.name} has an unknown mark '{mark}'; known are {', '.join(sorted(MARK_NAMES))}")
        for part in sorted(set(person.scene) - SCENE_PARTS):
            raise InputError(f"{name}: {person.name} has an unknown scene part '{part}'; known are {', '.join(sorted(SCENE_PARTS))}")
    for contact in cast.contacts:
        for side in (contact.a, contact.b):
            _check_mark_reference(cast, side, name)
    for look in cast.looks:
        if look.who not in names:
            raise InputError(f"{name}: a look belongs to '{look.who}', who is not in the cast; add the character or mend the name")
        if look.off is not None and (not isinstance(look.at, str) or look.at == "camera"):
            raise InputError(
                f"{name}: a side off the picture belongs to somebody or something that is looked at; leave `off` out, or name them in `at`"
            )
        if isinstance(look.at, str) and look.at != "camera" and look.at.partition(".")[0] not in names:
            raise InputError(f"{name}: {look.who} looks at '{look.at}', which is not in the cast; name a character, a prop mark or camera")


def _check_mark_reference(cast: Cast, reference: str, name: str) -> None:
    who, _, mark = reference.partition(".")
    owner = next((part for part in cast.marked if part.name == who), None)
    if owner is None or mark not in {*owner.marks, *owner.scene}:
        raise InputError(f"{name}: a contact names '{reference}', which the cast does not have; write it as Name.mark")
