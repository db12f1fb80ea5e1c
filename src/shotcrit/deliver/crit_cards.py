"""A note as the animator is shown it: still with drawings, strip of sound, the frames to play."""

from __future__ import annotations

import base64
from dataclasses import dataclass
from typing import Any

from shotcrit.deliver.cards import DEFAULT_SHAPE
from shotcrit.deliver.crit_input import CritForDelivery, NoteForDelivery
from shotcrit.deliver.sheet_pdf import data_uri, jpeg_shape
from shotcrit.sheet.ink_svg import WIDE, drawing_svg
from shotcrit.sheet.model import Sheet
from shotcrit.sheet.rows_svg import wrap_svg
from shotcrit.sheet.strip import around, strip_svg
from shotcrit.sheet.svg import el, title


@dataclass(frozen=True)
class NoteCard:
    """One note. still: SVG of the picture alone; drawings: SVG over it, each with the frames it holds for; play: for the page's player."""

    number: int
    id: str
    weight: str
    who: str
    frames: str
    value: str
    what: str
    why: str
    suggest: str
    first: int
    last: int
    at: int
    begin_here: bool
    still: str
    strip: str
    words: str
    play: dict[str, Any] | None


def note_cards(crit: CritForDelivery, sheet: Sheet, *, alone: bool) -> list[NoteCard]:
    """Every note in reading order."""
    return [_card(crit, sheet, number, note, alone) for number, note in enumerate(crit.notes, start=1)]


def _card(crit: CritForDelivery, sheet: Sheet, number: int, note: NoteForDelivery, alone: bool) -> NoteCard:
    numbering = sheet.numbering
    return NoteCard(
        number=number,
        id=note.id,
        weight=note.weight,
        who=note.who or "",
        frames=numbering.text(note.span),
        value=note.value,
        what=note.what,
        why=note.why,
        suggest=note.suggest,
        first=note.first,
        last=note.last,
        at=numbering.shown(note.shown_at),
        begin_here=note.id == crit.one_thing,
        still=_still(note, sheet, number, alone),
        strip=strip_svg(around(sheet, note.span), None, alone=alone),
        words=heard_over(sheet, note),
        play=_play(note, sheet),
    )


def heard_over(sheet: Sheet, note: NoteForDelivery) -> str:
    """The words that are spoken over the note's frames."""
    return " ".join(w.text for w in sheet.stretches("words") if w.start < note.last + 1 and w.stop > note.first)


def _still(note: NoteForDelivery, sheet: Sheet, number: int, alone: bool) -> str:
    """Picture and drawings; on the page each drawing says for which frames it holds. Nothing when there is neither."""
    if note.still is None and not note.drawings:
        return ""
    shape = jpeg_shape(note.still) if note.still is not None else DEFAULT_SHAPE
    field = {"x": 0, "y": 0, "width": WIDE, "height": WIDE * shape}
    picture = el("rect", **field, class_="room") if note.still is None else el("image", href=data_uri(note.still), **field)
    layers = [title(f"Frame {sheet.numbering.shown(note.shown_at)}: {note.what}"), picture]
    for index, drawing in enumerate(note.drawings):
        drawn = drawing_svg(drawing.strokes, shape, f"note{number}-{index}")
        if alone and not drawing.first <= note.shown_at <= drawing.last:
            continue
        layers.append(el("g", drawn, data_first=drawing.first, data_last=drawing.last))
    return wrap_svg(layers, WIDE, WIDE * shape, alone=alone)


def _play(note: NoteForDelivery, sheet: Sheet) -> dict[str, Any] | None:
    """Pictures, their times from the first, in seconds, and the sound; None when there is nothing to play."""
    snippet = note.snippet
    if snippet is None or not snippet.pictures:
        return None
    stop = min(snippet.first + len(snippet.pictures), sheet.frames)
    edges = [float(t - sheet.clock.edges[snippet.first]) for t in sheet.clock.edges[snippet.first : stop + 1]]
    return {
        "first": snippet.first,
        "shown": sheet.numbering.shown(snippet.first),
        "edges": [round(edge, 6) for edge in edges],
        "pictures": [data_uri(jpeg) for jpeg in snippet.pictures[: stop - snippet.first]],
        "sound": None if snippet.wav is None else base64.b64encode(snippet.wav).decode("ascii"),
    }
