"""The reference page of the cast file, from its model: every field with what it is, what it may be, and what stands when it is left out."""

from __future__ import annotations

import json
import types
from collections.abc import Iterator
from typing import Annotated, Any, Literal, Union, get_args, get_origin

from annotated_types import Ge, Gt, Le, MaxLen, MinLen
from pydantic import BaseModel
from pydantic.fields import FieldInfo

from shotcrit.readings.cast import (
    BIGGEST_FILE,
    SCENE_PARTS,
    Cast,
    Character,
    Contact,
    FaceOf,
    LookAt,
    Placed,
    Point,
    Prop,
    SceneCamera,
    parse_cast,
)

EXAMPLE = """\
{"characters": [{"name": "Ada", "marks": {"nose": [{"frame": 21, "x": 0.41, "y": 0.34}],
                                          "hand_right": [{"frame": 21, "x": 0.52, "y": 0.71}, {"frame": 60, "x": 0.55, "y": 0.69}]}},
                {"name": "Ben", "scene": {"head": "Ben_Head", "eye_left": "Ben_EyeL", "eye_right": "Ben_EyeR"}}],
 "props":      [{"name": "kite", "marks": {"handle": [{"frame": 21, "x": 0.53, "y": 0.72}]}}],
 "contacts":   [{"a": "Ada.hand_right", "b": "kite.handle", "first": 1, "last": 116}],
 "looks":      [{"who": "Ada", "at": "Ben", "first": 1, "last": 50}, {"who": "Ada", "at": "kite.handle", "first": 51, "last": 116},
                {"who": "Ben", "at": "camera"}],
 "cameras":    [{"node": "CamA", "first": 1, "last": 116}],
 "faces":      [{"who": "Ada", "frame": 21, "x": 0.41, "y": 0.33}],
 "metres_per_unit": 1.0}
"""
"""Stands on the page; the page is not written unless it is a sound cast."""

PARTS: dict[type[BaseModel], tuple[str, str]] = {
    Cast: ("The file", "One JSON object in UTF-8. Everything may be left out; what stands in it twice, or under an unknown name, is refused in one sentence."),
    Character: ("characters", "Whoever acts. Marks are named as on [the page of marks](marks.md); parts of a scene may be those and {parts}."),
    Prop: ("props", "What is held, looked at or stood on. Its marks and parts have any name."),
    Placed: ("A placed mark", "Where a mark lies on one frame. One frame a mark is enough; more correct the following. It may lie outside of the picture."),
    Contact: ("contacts", "What must not slide."),
    LookAt: ("looks", "Who looks at what."),
    Point: ("A point of the picture", "For a look at something that has no mark."),
    FaceOf: ("faces", "Whose face is found at a point of the picture: it holds for that face in its whole shot, and for those that look like it."),
    SceneCamera: ("cameras", "Which of a scene's cameras took which frames; with any, every frame needs one; without, the scene's only camera is taken."),
}  # fmt: skip
MEANING: dict[tuple[type[BaseModel], str], str] = {
    (Cast, "characters"): "see below",
    (Cast, "props"): "see below",
    (Cast, "contacts"): "see below",
    (Cast, "looks"): "see below; without any, looks are proposed and not judged",
    (Cast, "cameras"): "see below; only with a scene",
    (Cast, "faces"): "see below; without any, the sound of the lines tells whose the faces are that are found",
    (Cast, "metres_per_unit"): "metres of one unit of the scene; at 1 the unit that the scene itself says stands",
    (Character, "name"): "as in the lines; it may not be a prop's too",
    (Character, "marks"): "by mark, where it was placed",
    (Character, "scene"): "by part, the name of the scene's node",
    (Prop, "name"): "it may not be a character's too",
    (Prop, "marks"): "by mark, where it was placed",
    (Prop, "scene"): "by mark, the name of the scene's node",
    (Placed, "frame"): "the frame as shown",
    (Placed, "x"): "part of the picture's width, from the left",
    (Placed, "y"): "part of the picture's height, from the top",
    (Contact, "a"): "what must stay put, as `Name.mark`",
    (Contact, "b"): "on what, as `Name.mark`",
    (Contact, "first"): "first frame as shown",
    (Contact, "last"): "last frame as shown, itself included",
    (LookAt, "who"): "a character",
    (LookAt, "at"): "a character, a prop, one of their marks as `Name.mark`, `camera`, or a point of the picture",
    (LookAt, "first"): "first frame as shown; left out: from the shot's start",
    (LookAt, "last"): "last frame as shown, itself included; left out: to the shot's end",
    (LookAt, "off"): "roughly where `at` is while the picture does not show it: a side of the screen, or behind the lens",
    (Point, "x"): "part of the picture's width, from the left",
    (Point, "y"): "part of the picture's height, from the top",
    (FaceOf, "who"): "a speaker or character; left out: nobody's, and nobody is judged by it",
    (FaceOf, "frame"): "the frame as shown",
    (FaceOf, "x"): "part of the picture's width, from the left",
    (FaceOf, "y"): "part of the picture's height, from the top",
    (SceneCamera, "node"): "the camera's node in the scene",
    (SceneCamera, "first"): "first frame as shown",
    (SceneCamera, "last"): "last frame as shown, itself included",
}  # fmt: skip
WORDS = {str: "text", int: "a whole number", float: "a number", type(None): "nothing"}


def cast_page(head: str) -> str:
    """The page. A field without a meaning here is an error, so that none is forgotten."""
    parse_cast(json.loads(EXAMPLE), name="the example of the cast page")
    sections = "".join(_section(part) for part in PARTS)
    return (
        f"{head}# The cast file\n\nA cast says who and what is in a shot: `measure --cast`, and what the room writes when marks are placed in it. At most "
        f"{BIGGEST_FILE >> 20} MB.\n\n```json\n{EXAMPLE}```\n{sections}"
    )


def _section(part: type[BaseModel]) -> str:
    title, says = PARTS[part]
    own = ", ".join(f"`{name}`" for name in sorted(SCENE_PARTS - {n for n in SCENE_PARTS if "_" in n} - {"nose", "chin", "chest", "hips"}))
    rows = "".join(
        f"| `{name}` | {_kind(field.annotation, field)} | {_default(field)} | {MEANING[part, name]} |\n"
        for name, field in part.model_fields.items()
    )
    return (
        f"\n## {title}\n\n{says.format(parts=own)}\n\n| field | what it may be | left out | what it is |\n| --- | --- | --- | --- |\n{rows}"
    )


def _default(field: FieldInfo) -> str:
    if field.is_required():
        return "must be there"
    return "nothing" if field.default in (None, (), {}) else f"`{field.default}`"


def _kind(annotation: Any, field: FieldInfo | None = None) -> str:
    """A type in words, with the limits that its field sets."""
    if get_origin(annotation) is Annotated:
        inner, *bounds = get_args(annotation)
        return _kind(inner) + _limits(bounds)
    limits = _limits(field.metadata) if field is not None else ""
    if get_origin(annotation) in (Union, types.UnionType):
        return " or ".join(_kind(one) for one in get_args(annotation) if one is not type(None)) + limits
    if get_origin(annotation) is tuple:
        return f"a list: {_kind(get_args(annotation)[0])}"
    if get_origin(annotation) is dict:
        return f"an object: name to {_kind(get_args(annotation)[1])}"
    if get_origin(annotation) is Literal:
        return " or ".join(f"`{one}`" for one in get_args(annotation))
    return (WORDS[annotation] if annotation in WORDS else PARTS[annotation][0].lower()) + limits


def _limits(metadata: list[Any] | tuple[Any, ...]) -> str:
    said = list(_each_limit(metadata))
    return f", {' '.join(said)}" if said else ""


def _each_limit(metadata: list[Any] | tuple[Any, ...]) -> Iterator[str]:
    flat = [inner for one in metadata for inner in (getattr(one, "metadata", None) or [one])]
    for limit in flat:
        if isinstance(limit, MinLen) and isinstance(limit.min_length, int):
            yield f"from {limit.min_length}"
        elif isinstance(limit, MaxLen):
            yield f"to {limit.max_length} characters"
        elif isinstance(limit, Ge):
            yield f"from {limit.ge:,}"
        elif isinstance(limit, Gt):
            yield f"over {limit.gt:,}"
        elif isinstance(limit, Le):
            yield f"to {limit.le:,.0f}"
