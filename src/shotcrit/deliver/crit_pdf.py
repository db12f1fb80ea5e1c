"""A crit as PDF: a cover with the shot, each note with its drawn still, a few frames, its sound and a box to tick; the sheet at the end."""

from __future__ import annotations

from typing import Any

from shotcrit.deliver.crit_cards import NoteCard, note_cards
from shotcrit.deliver.crit_input import CritForDelivery, NoteForDelivery, cover_stills, crit_sheet
from shotcrit.deliver.sheet_pdf import data_uri, jpeg_shape, sheet_pages
from shotcrit.deliver.still_svg import annotated
from shotcrit.deliver.typeset import compile_pdf
from shotcrit.sheet import plain
from shotcrit.sheet.model import Sheet

FRAMES_ALONG = 5
"""Small pictures of the noted frames, first to last (guess: more are too small to read on A4)."""


def crit_pdf(crit: CritForDelivery) -> bytes:
    """A4 pages. Raises InputError for notes that do not lie in the take."""
    crit.require_sound()
    sheet = crit_sheet(crit)
    files: dict[str, bytes] = {}
    cards = note_cards(crit, sheet, alone=True)
    stills = {index: (data_uri(jpeg), jpeg_shape(jpeg)) for index, jpeg in crit.shot_stills.items()}
    pages, drawn = sheet_pages(crit.measured, sheet, stills, "a4")
    files |= drawn
    shown = [_note(card, note, sheet, files) for card, note in zip(cards, crit.notes, strict=True)]
    info = crit.measured.readings.movie
    data = {
        "title": crit.shot,
        "people": ", ".join(part for part in (crit.take_label, f"for {crit.animator}" if crit.animator else "") if part),
        "about": [plain.frames_line(info), plain.rate_line(info)],
        "unreleased": crit.unreleased,
        "overall": crit.overall,
        "praise": crit.praise,
        "reviewer": crit.reviewer,
        "begin": next(({"number": c.number, "frames": c.frames, "what": c.what} for c in cards if c.begin_here), None),
        "cover": [_cover_still(index, still, sheet, files) for index, still in cover_stills(stills)],
        "notes": shown,
        "sheet": pages,
    }
    return compile_pdf("crit.typ", data, files)


def _cover_still(index: int, still: tuple[str, float], sheet: Sheet, files: dict[str, bytes]) -> dict[str, Any]:
    name = f"cover{index}.svg"
    files[name] = annotated(*still, (), "", alone=True).encode()
    return {"file": name, "frame": sheet.numbering.shown(index)}


def _note(card: NoteCard, note: NoteForDelivery, sheet: Sheet, files: dict[str, bytes]) -> dict[str, Any]:
    """The card as data, its drawings put beside it as files."""
    entry: dict[str, Any] = {**vars(card), "play": None, "strip": f"strip{card.number}.svg", "still": "", "along": []}
    files[entry["strip"]] = card.strip.encode("utf-8", "replace")
    if card.still:
        entry["still"] = f"still{card.number}.svg"
        files[entry["still"]] = card.still.encode("utf-8", "replace")
    for index, jpeg in along(note):
        name = f"along{card.number}-{index}.svg"
        files[name] = annotated(data_uri(jpeg), jpeg_shape(jpeg), (), "", alone=True).encode()
        entry["along"].append({"file": name, "frame": sheet.numbering.shown(index)})
    return entry


def along(note: NoteForDelivery) -> list[tuple[int, bytes]]:
    """A few pictures of the noted frames, evenly from the first to the last, with their frame indices."""
    snippet = note.snippet
    if snippet is None or len(snippet.pictures) < 2:
        return []
    last = len(snippet.pictures) - 1
    steps = min(FRAMES_ALONG, last + 1)
    picked = sorted({round(i * last / (steps - 1)) for i in range(steps)})
    return [(snippet.first + i, snippet.pictures[i]) for i in picked]
