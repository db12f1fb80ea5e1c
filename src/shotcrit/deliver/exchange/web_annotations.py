"""Notes as W3C Web Annotations (JSON-LD), out and in: text on a stretch of a movie, drawings as SVG selectors within it.

target   lantern_040.mov  t=npt:1.875,1.916666   (Media Fragments URI 1.0: seconds, half-open)
body     what (commenting), why (describing), what to try (editing), weight (tagging), who (identifying): purposes of the W3C vocabulary

A fragment's times lie inside their frames, to a millionth of a second, so that no reader lands on the one before or after. The frames as shown, and
what else a note has, stand under `urn:shotcrit:notes#note` as JSON.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterator, Mapping
from fractions import Fraction
from math import ceil, floor
from typing import Any
from urllib.parse import quote

from pydantic import ValidationError

from shotcrit.clock import Span, rate_text
from shotcrit.deliver.crit_input import CritForDelivery, Drawn, NoteForDelivery
from shotcrit.deliver.exchange.counting import Counting
from shotcrit.deliver.exchange.drawings_svg import picture_size, strokes_of, svg_of
from shotcrit.deliver.exchange.format import Format, Made, counting, lost
from shotcrit.deliver.exchange.incoming import WEIGHTS, Incoming, Source, drawn, few_enough, note, text_of
from shotcrit.deliver.exchange.notes_json import NoteOut, note_out
from shotcrit.deliver.exchange.svg_shapes import svg_root
from shotcrit.errors import InputError

OURS = "urn:shotcrit:notes#"
CONTEXT = [
    "http://www.w3.org/ns/anno.jsonld",
    {"note": {"@id": f"{OURS}note", "@type": "@json"}, "count": {"@id": f"{OURS}count", "@type": "@json"}},
]
FRAGMENTS = "http://www.w3.org/TR/media-frags/"
PURPOSES = {"commenting": "what", "describing": "why", "editing": "try", "tagging": "weight", "identifying": "who"}
"""What each body says; the purposes are the W3C vocabulary's, which part stands for which is ours."""
_TIME = r"(?:(?:\d+:)?\d{1,2}:)?\d+(?:\.\d*)?"
_FRAGMENT = re.compile(rf"(?:^|[#&?])t=(?:npt:)?({_TIME})?(?:,({_TIME}))?(?:&|$)")
MILLIONTH = 1_000_000


def web_annotations(crit: CritForDelivery) -> Made:
    """An annotation page, a note an annotation."""
    count, size = counting(crit), picture_size(crit)
    told = {"first_frame": count.first_frame, "rate": rate_text(count.rate), "timecode": count.timecode(0), "drop_frame": count.drop}
    page = {
        "@context": CONTEXT,
        "id": f"urn:shotcrit:{quote(crit.crit)}:{quote(crit.take)}",
        "type": "AnnotationPage",
        "count": told,
        "items": [_annotation(one, crit, count, size) for one in crit.notes],
    }
    text = json.dumps(page, ensure_ascii=False, indent=1) + "\n"
    return Made({"notes.jsonld": text.encode("utf-8", "replace")}, lost(crit, "A page of annotations", drawings=True))


def _annotation(one: NoteForDelivery, crit: CritForDelivery, count: Counting, size: tuple[int, int]) -> dict[str, Any]:
    source = quote(crit.measured.readings.movie.path.name)
    said = {"what": one.what, "why": one.why, "try": one.suggest, "weight": one.weight, "who": one.who or ""}
    bodies = [
        {"type": "TextualBody", "value": said[part], "format": "text/plain", "purpose": purpose}
        for purpose, part in PURPOSES.items()
        if said[part]
    ]
    kept = note_out(one, count).model_dump(mode="json", by_alias=True, exclude={"drawings"})
    return {
        "id": f"urn:shotcrit:{quote(crit.crit)}:{quote(crit.take)}:{quote(one.id)}",
        "type": "Annotation",
        "motivation": "assessing",
        **({"creator": {"type": "Person", "name": crit.reviewer}} if crit.reviewer else {}),
        "body": bodies,
        "target": [_target(source, one.first, one.last, count), *(_seen(source, d, size, count, one.what) for d in one.drawings)],
        "note": kept,
    }


def _target(source: str, first: int, last: int, count: Counting) -> dict[str, Any]:
    return {"source": source, "selector": {"type": "FragmentSelector", "conformsTo": FRAGMENTS, "value": fragment(first, last, count)}}


def _seen(source: str, one: Drawn, size: tuple[int, int], count: Counting, says: str) -> dict[str, Any]:
    """A drawing: the frames that it holds for, and what is seen on them."""
    target = _target(source, one.first, one.last, count)
    target["selector"]["refinedBy"] = {"type": "SvgSelector", "value": svg_of(one, size, count, says)}
    return target


def fragment(first: int, last: int, count: Counting) -> str:
    """'t=npt:1.875,1.916666': the start rounded up, the end down (Media Fragments URI 1.0, 4.2.1: the end is not part of it)."""
    start, stop = count.seconds(Span(first, last + 1))
    return f"t=npt:{_decimal(ceil(start * MILLIONTH))},{_decimal(floor(stop * MILLIONTH))}"


def _decimal(millionths: int) -> str:
    text = f"{millionths // MILLIONTH}.{millionths % MILLIONTH:06d}".rstrip("0")
    return text.rstrip(".") or "0"


def read_web_annotations(data: bytes, name: str, count: Counting) -> Incoming:
    """Notes of an annotation, a list of them, or a page or collection. Raises InputError, one sentence."""
    try:
        whole = json.loads(text_of(data, name))
    except (ValueError, RecursionError) as problem:
        raise InputError(f"{name} is no JSON that can be read; save the annotations again") from problem
    items = [item for item in _items(whole) if isinstance(item, Mapping)]
    few_enough(len(items), name)
    if not items:
        raise InputError(f"{name} holds no annotations; give a Web Annotation, a page or a collection of them")
    return Incoming(tuple(_note(item, count, f"{name}, annotation {number}") for number, item in enumerate(items, start=1)))


def _items(whole: object) -> list[Any]:
    """The annotations of whatever holds them, two holders deep (a collection's first page)."""
    for _ in range(3):
        if isinstance(whole, list):
            return whole
        if not isinstance(whole, Mapping):
            return []
        if "target" in whole:
            return [whole]
        whole = whole.get("items", whole.get("first"))
    return []


def _listed(value: object) -> list[Any]:
    return value if isinstance(value, list) else [] if value is None else [value]


def _note(item: Mapping[str, Any], count: Counting, where: str) -> NoteForDelivery:
    targets = list(_targets(item))
    if not targets:
        raise InputError(f"{where} names no time in the movie; give its target a media fragment, as t=npt:1.5,2")
    spans = [_frames(text, count, where) for text, _ in targets]
    plain = [span for span, (_, svg) in zip(spans, targets, strict=True) if svg is None] or spans
    first, last = plain[0]
    drawings = [
        drawn(*span, strokes_of(svg_root(svg, where), where)[0], count, where)
        for span, (_, svg) in zip(spans, targets, strict=True)
        if svg is not None
    ]
    said, ours = _said(item), _ours(item)
    at = None if ours is None or ours.still is None else ours.still - ours.first + first
    return note(
        first, last, count, where, what=said["what"], why=said["why"], suggest=said["try"], weight=said["weight"], who=said["who"],
        id=ours.id if ours else "", at=at, drawings=drawings,
    )  # fmt: skip


def _targets(item: Mapping[str, Any]) -> Iterator[tuple[str, str | None]]:
    """The fragment of each target, and the SVG that refines it."""
    for target in _listed(item.get("target")):
        if isinstance(target, str):
            if _FRAGMENT.search(target):
                yield target, None
            continue
        selectors = _listed(target.get("selector")) if isinstance(target, Mapping) else []
        found = [one for outer in selectors for one in _nested(outer)]
        times = [
            s["value"]
            for s in found
            if s.get("type") == "FragmentSelector" and isinstance(s.get("value"), str) and _FRAGMENT.search(s["value"])
        ]
        shown = [s["value"] for s in found if s.get("type") == "SvgSelector" and isinstance(s.get("value"), str)]
        source = target.get("source", target.get("id")) if isinstance(target, Mapping) else None
        if not times and isinstance(source, str) and _FRAGMENT.search(source):
            times = [source]
        if times:
            yield times[0], shown[0] if shown else None


def _nested(selector: object) -> list[Mapping[str, Any]]:
    """A selector and those that refine it, a few deep."""
    found: list[Mapping[str, Any]] = []
    while isinstance(selector, Mapping) and len(found) < 5:
        found.append(selector)
        selector = selector.get("refinedBy")
    return found


def _frames(text: str, count: Counting, where: str) -> tuple[int, int]:
    """The frames that a fragment touches; a point in time is the frame on screen then. Raises InputError for one outside the take."""
    found = _FRAGMENT.search(text)
    start = _seconds(found[1]) if found and found[1] else Fraction(0)
    stop = _seconds(found[2]) if found and found[2] else start
    if not (stop >= start and start < count.clock.duration and stop <= count.clock.duration + 1 / count.rate):
        raise InputError(
            f"{where} lies at {text[-60:]}, and the take lasts {float(count.clock.duration):.3f} s; mend the time, or choose its take"
        )
    span = count.clock.frames(start, stop) if stop > start else None
    return (span.start, span.last) if span else (count.clock.frame_at(start),) * 2


def _seconds(text: str) -> Fraction:
    """'1.5', '02:03.5' or '1:02:03.5' (Media Fragments URI 1.0, 4.2.1: normal play time)."""
    total = Fraction(0)
    for part in text.split(":"):
        total = total * 60 + Fraction(part.rstrip("."))
    return total


def _said(item: Mapping[str, Any]) -> dict[str, str]:
    """The words of the bodies by what they are for; a body without a purpose is the note itself, a weight that is none of ours is left out."""
    found = dict.fromkeys(PURPOSES.values(), "")
    bodies = [*_listed(item.get("body")), *_listed(item.get("bodyValue"))]
    for body in bodies:
        text = body if isinstance(body, str) else body.get("value") if isinstance(body, Mapping) else None
        purpose = body.get("purpose") if isinstance(body, Mapping) else None
        part = PURPOSES.get(purpose, "what") if isinstance(purpose, str) else "what"
        if isinstance(text, str) and not (part == "weight" and text not in WEIGHTS):
            found[part] = f"{found[part]}\n{text}".strip()
    return found


def _ours(item: Mapping[str, Any]) -> NoteOut | None:
    try:
        return NoteOut.model_validate(item["note"])
    except (KeyError, ValidationError):
        return None


FORMAT = Format(
    "annotations",
    "Web Annotations",
    "Notes and drawings as W3C Web Annotations (JSON-LD) on stretches of the movie, for archives and web players.",
    "Seconds to a millionth, inside the right frames; frames, first frame, exact rate and time code beside them; every word; drawings as SVG selectors "
    "with what the pen gave. Not the word on the whole.",
    web_annotations,
)
SOURCE = Source(
    "Web Annotation",
    (".jsonld",),
    "annotations with a media fragment (`t=npt:1.5,2`), alone, in a list, a page or a collection",
    read_web_annotations,
)
