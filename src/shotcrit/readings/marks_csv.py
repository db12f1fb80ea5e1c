"""Marks as a table that any spreadsheet or script can read and write: one row a mark and frame.

    frame,who,mark,x,y,error,placed,kind
    21,Ada,mouth_left,0.41,0.38,0,1,character

frame : as shown; x, y : fractions of the picture's width and height, origin top left, empty where lost
error : standard error, px of the full-size frame; placed : 1 where a person placed the mark, else 0; kind : character or prop
A placed mark is written with all its digits, so that it comes back as it was; a followed one to a millionth of the picture.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable
from math import isfinite
from pathlib import Path

import numpy as np

from shotcrit.clock import Numbering
from shotcrit.errors import InputError
from shotcrit.plain_file import read_plain
from shotcrit.readings.acting import MARKED, Acting, MarkTrack
from shotcrit.readings.cast import BIGGEST_FILE, MARK_NAMES, Cast, Character, Placed, parse_cast

COLUMNS = ("frame", "who", "mark", "x", "y", "error", "placed", "kind")
KINDS = ("character", "prop")
_UNSAFE = ("=", "+", "-", "@", "\t", "\r", "'")
"""A cell that starts so is run as a formula by spreadsheets (OWASP, 'CSV Injection'); the quote that stops them is doubled where a name has one."""


def cast_to_csv(cast: Cast, acting: Iterable[Acting] = (), *, first_frame: int = 1) -> str:
    """The marks of a cast as CSV text with Unix line ends: every placed one exactly, and between them what was followed.

    acting : level 2; its marks that the cast does not have (an iris found by its look) are written too
    """
    out = io.StringIO()
    table = csv.writer(out, lineterminator="\n")
    table.writerow(COLUMNS)
    numbering = Numbering(first_frame)
    tracks = {(a.who, name): track for a in acting if a.level == MARKED for name, track in a.marks.items()}
    for part in cast.marked:
        kind = KINDS[0] if isinstance(part, Character) else KINDS[1]
        names = [*part.marks, *(mark for who, mark in tracks if who == part.name and mark not in part.marks)]
        for name in names:
            rows = _rows(tracks.get((part.name, name)), part.marks.get(name, ()), numbering)
            table.writerows((frame, plain_cell(part.name), plain_cell(name), *rest, kind) for frame, *rest in rows)
    return out.getvalue()


def _rows(track: MarkTrack | None, placed: Iterable[Placed], numbering: Numbering) -> Iterable[tuple[object, ...]]:
    """(frame, x, y, error, placed) in order of frames."""
    by_hand = {p.frame: (p.frame, repr(p.x), repr(p.y), "0", 1) for p in placed}
    between: dict[int, tuple[object, ...]] = {}
    if track is not None:
        for index, ((x, y), error) in enumerate(zip(track.xy, track.error_px, strict=True)):
            where = (f"{x:.6f}", f"{y:.6f}", f"{error:.3f}") if np.isfinite(x) else ("", "", "")
            between[numbering.shown(index)] = (numbering.shown(index), *where, 0)
    both = {**between, **by_hand}
    return [both[frame] for frame in sorted(both)]


def plain_cell(text: str) -> str:
    """Text that no spreadsheet runs as a formula."""
    return f"'{text}" if text.startswith(_UNSAFE) else text


def read_cell(text: str) -> str:
    """What plain_cell was given, without spaces around it."""
    tidy = text.strip()
    return tidy[1:] if tidy.startswith("'") and tidy[1:].startswith(_UNSAFE) else tidy


def read_marks_csv(path: Path, cast: Cast | None = None) -> Cast:
    """The cast with the placed marks of a CSV file put in.

    Rows with placed 0 or an empty x are passed over; a file without a `placed` column holds placed marks only. A name that the cast does not have
    becomes what its kind says; without a kind it is a character when all its marks are those of a character,
    else a prop. Raises InputError, one sentence that names the line.
    """
    over = "which no table of marks needs; give the CSV that was exported"
    data = read_plain(path, most=BIGGEST_FILE, over=over, give="a CSV file that exists")
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as problem:
        raise InputError(f"{path} is not UTF-8 text; save the table as CSV in UTF-8") from problem
    return parse_marks_csv(text, cast or Cast(), name=str(path))


def parse_marks_csv(text: str, cast: Cast, *, name: str) -> Cast:
    """As read_marks_csv, from text; `name` says in errors where it came from."""
    rows = csv.DictReader(io.StringIO(text), strict=True)
    found: dict[str, dict[str, dict[int, tuple[float, float]]]] = {}
    kinds: dict[str, str] = {}
    try:
        missing = [c for c in ("frame", "who", "mark", "x", "y") if c not in (rows.fieldnames or ())]
        if missing:
            raise InputError(f"{name} has no column '{missing[0]}'; its first line must be {','.join(COLUMNS)}")
        for row in rows:
            _take(row, found, f"{name}, line {rows.line_num}")
            _take_kind(row, kinds, f"{name}, line {rows.line_num}")
    except csv.Error as problem:
        raise InputError(f"{name}, line {rows.line_num} is not CSV ({problem}); mend it there") from problem
    return _into_cast(found, kinds, cast, name)


def _take(row: dict[str, str | None], found: dict[str, dict[str, dict[int, tuple[float, float]]]], where: str) -> None:
    if (row.get("placed") or "1").strip() == "0" or not (row["x"] or "").strip():
        return
    who, mark = (read_cell(row[c] or "") for c in ("who", "mark"))
    if not who or not mark:
        raise InputError(f"{where} names no character or no mark; fill in who and mark")
    try:
        frame, x, y = int(row["frame"] or ""), float(row["x"] or ""), float(row["y"] or "")
    except ValueError as problem:
        raise InputError(f"{where} has a frame, x or y that is no number; write a whole frame and fractions of the picture") from problem
    if not (isfinite(x) and isfinite(y)):
        raise InputError(f"{where} has an x or y that is no number; write fractions of the picture")
    found.setdefault(who, {}).setdefault(mark, {})[frame] = (x, y)


def _take_kind(row: dict[str, str | None], kinds: dict[str, str], where: str) -> None:
    kind = (row.get("kind") or "").strip().lower()
    if kind and kind not in KINDS:
        raise InputError(f"{where} has the kind '{kind[:40]}'; write character or prop, or leave it empty")
    if kind:
        kinds.setdefault(read_cell(row["who"] or ""), kind)


def _into_cast(found: dict[str, dict[str, dict[int, tuple[float, float]]]], kinds: dict[str, str], cast: Cast, name: str) -> Cast:
    data = cast.model_dump(mode="json")
    known = {part["name"]: part for part in (*data["characters"], *data["props"])}
    for who, marks in found.items():
        if who not in known:
            known[who] = {"name": who, "marks": {}, "scene": {}}
            kind = kinds.get(who) or (KINDS[0] if set(marks) <= MARK_NAMES else KINDS[1])
            data[f"{kind}s"].append(known[who])
        for mark, spots in marks.items():
            own = {p["frame"]: p for p in known[who]["marks"].get(mark, ())}
            own.update({f: {"frame": f, "x": x, "y": y} for f, (x, y) in spots.items()})
            known[who]["marks"][mark] = [own[f] for f in sorted(own)]
    return parse_cast(data, name=name)
