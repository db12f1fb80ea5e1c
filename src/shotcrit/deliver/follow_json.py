"""`follow --json`: what became of a shot from one take to the next, as the document that other programs read (schema 'shotcrit.follow/1')."""

from __future__ import annotations

import json
from importlib.resources import files
from pathlib import Path
from typing import IO, Any

from shotcrit.clock import Numbering, Span
from shotcrit.deliver.atomic import write_whole
from shotcrit.deliver.measure_json import finding_part, movie_part
from shotcrit.deliver.numbers import json_real
from shotcrit.takes.change import Region
from shotcrit.takes.frame_map import Stretch
from shotcrit.takes.verdicts import Followed, Sighted, Verdict

SCHEMA = "shotcrit.follow/1"
Json = dict[str, Any]


def follow_document(followed: Followed) -> Json:
    """The contract's document, keys always in this order. Frames are as shown to people, each take by its own numbers, both ends in."""
    old, new = followed.old.readings.numbering, followed.new.readings.numbering
    return {
        "schema": SCHEMA,
        "old": movie_part(followed.old.readings.movie),
        "new": movie_part(followed.new.readings.movie),
        "map": [[old.shown(a), None if b is None else new.shown(b)] for a, b in followed.map.pairs()],
        "verdicts": [_verdict(v, old, new) for v in followed.verdicts],
        "new_findings": [finding_part(f, new) for f in followed.new_findings],
        "confidence": [_sure(followed, b) for _, b in followed.map.pairs()],
        "stretches": [_stretch(s, old, new) for s in followed.map.stretches],
        "changes": [_region(r, old, new) for r in (followed.changes.regions if followed.changes else ())],
        "by_sound": json_real(followed.map.by_sound),
        "same_picture": json_real(followed.map.same_picture),
        "remarks": list(followed.remarks),
    }


def follow_text(followed: Followed) -> str:
    """The document as UTF-8 JSON text, two spaces deep but a frame pair a line, ending in a newline; refuses nan (ValueError)."""
    return json.dumps(follow_document(followed), ensure_ascii=False, indent=2, allow_nan=False) + "\n"


def write_follow_json(followed: Followed, to: Path | str | IO[str]) -> None:
    """Write the document to a path, whole or not at all, or to an open text file. Raises InputError when the path cannot be written."""
    text = follow_text(followed)
    if isinstance(to, str | Path):
        write_whole(Path(to), text.encode("utf-8", "replace"))
    else:
        to.write(text)


def follow_schema() -> Json:
    """The JSON Schema (2020-12) that the document keeps to."""
    schema: Json = json.loads(files("shotcrit.deliver").joinpath("follow.schema.json").read_text(encoding="utf-8"))
    return schema


def _sure(followed: Followed, new: int | None) -> float | int | None:
    return None if new is None else json_real(followed.map.confidence[new])


def _verdict(verdict: Verdict, old: Numbering, new: Numbering) -> Json:
    return {
        "note": verdict.note,
        "check": verdict.check,
        "kind": verdict.kind,
        "who": verdict.who,
        "old": _sighted(verdict.old, old),
        "new": None if verdict.new is None else _sighted(verdict.new, new),
        "verdict": verdict.verdict,
        "says": verdict.says,
        "asked": verdict.asked,
        "weight": verdict.weight,
        "unit": verdict.unit,
        "limit": None if verdict.limit is None else json_real(verdict.limit),
        "confidence": json_real(verdict.confidence),
    }


def _sighted(seen: Sighted, numbering: Numbering) -> Json:
    return {
        "first": numbering.shown(seen.span.start),
        "last": numbering.shown(seen.span.last),
        "value": None if seen.value is None else json_real(seen.value),
    }


def _range(span: Span | None, numbering: Numbering) -> Json | None:
    return None if span is None else {"first": numbering.shown(span.start), "last": numbering.shown(span.last)}


def _stretch(stretch: Stretch, old: Numbering, new: Numbering) -> Json:
    return {"kind": stretch.kind, "old": _range(stretch.old, old), "new": _range(stretch.new, new), "speed": json_real(stretch.speed)}


def _region(region: Region, old: Numbering, new: Numbering) -> Json:
    box = region.box
    return {
        "old": _range(region.old, old),
        "new": _range(region.new, new),
        "left": json_real(box.left),
        "top": json_real(box.top),
        "right": json_real(box.right),
        "bottom": json_real(box.bottom),
        "part": json_real(region.part),
        "by": json_real(region.by),
    }
