"""A crit as one page that opens offline: cover, notes in order, each to look at, play, tick and answer; the sheet beside it."""

from __future__ import annotations

import json
from collections.abc import Mapping
from pathlib import Path

from markupsafe import Markup

from shotcrit.crit.answers import MOST_ANSWERS, Answers, parse_answers
from shotcrit.deliver.crit_cards import note_cards
from shotcrit.deliver.crit_input import CritForDelivery, cover_stills, crit_sheet
from shotcrit.deliver.page import Part, heard_part, page_html, render, sheet_part, svg
from shotcrit.deliver.sheet_pdf import data_uri, jpeg_shape
from shotcrit.plain_file import read_plain
from shotcrit.sheet import plain
from shotcrit.sheet.model import Sheet


def crit_page(crit: CritForDelivery) -> str:
    """The whole page. Raises InputError for notes that do not lie in the take."""
    crit.require_sound()
    sheet = crit_sheet(crit)
    stills = {index: (data_uri(jpeg), jpeg_shape(jpeg)) for index, jpeg in crit.shot_stills.items()}
    info = crit.measured.readings.movie
    about = [plain.frames_line(info), plain.rate_line(info)]
    parts = [
        sheet_part(sheet, stills),
        cover_part(crit, sheet, stills),
        notes_part(crit, sheet),
        answer_part(crit),
        heard_part(crit.measured, plain.movie_rows(crit.measured.readings)),
    ]
    people = ", ".join(part for part in (crit.take_label, f"for {crit.animator}" if crit.animator else "") if part)
    return page_html(crit.shot, people, about, parts, unreleased=crit.unreleased, caution=plain.flashing(crit.measured.findings))


def cover_part(crit: CritForDelivery, sheet: Sheet, stills: Mapping[int, tuple[str, float]]) -> Part:
    """The shot, the word on the whole, what is good, where to begin. stills: of each shot's first frame, as data URIs."""
    begin = next(((i, n) for i, n in enumerate(crit.notes, start=1) if n.id == crit.one_thing), None)
    first = None if begin is None else {"number": begin[0], "frames": sheet.numbering.text(begin[1].span), "what": begin[1].what}
    shots = [{"src": uri, "frame": sheet.numbering.shown(index)} for index, (uri, _) in cover_stills(stills)]
    body = render("cover.html.j2", shots=shots, overall=crit.overall, praise=crit.praise, first=first, reviewer=crit.reviewer)
    return Part("overall", "Overall", body)


def notes_part(crit: CritForDelivery, sheet: Sheet) -> Part:
    """Every note as a card."""
    shown = []
    for card in note_cards(crit, sheet, alone=False):
        play = None if card.play is None else embedded(card.play)
        shown.append({**vars(card), "still": svg(card.still), "strip": svg(card.strip), "play": play})
    return Part("notes", "Notes", render("notes.html.j2", cards=shown))


def answer_part(crit: CritForDelivery) -> Part:
    """Where the animator saves the answers; the file's shape is `shotcrit.answers/1`."""
    asked = [note.id for note in crit.notes if note.weight != "keep"]
    data = embedded({"crit": crit.crit, "take": crit.take, "notes": asked, "name": f"{crit.shot} {crit.take_label}".strip()})
    return Part("answers", "Your answers", render("answers.html.j2", data=data, asked=len(asked), animator=crit.animator))


def embedded(data: object) -> Markup:
    """JSON inside a page: no character in it can end its element (HTML Living Standard, 4.12.1.3: restrictions on script data)."""
    text = json.dumps(data, ensure_ascii=True, allow_nan=False)
    return Markup(text.replace("<", "\\u003c").replace(">", "\\u003e").replace("&", "\\u0026"))


def read_answers(path: Path) -> Answers:
    """What the animator sent back. Raises InputError, one sentence, for anything that the page did not save."""
    data = read_plain(
        path, most=MOST_ANSWERS, over="which no answers need; give the file that the page saved", give="the file that the page saved"
    )
    return parse_answers(data, name=str(path))
