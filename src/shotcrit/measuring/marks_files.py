"""Marks from one file to another: cast, crit or table in; table or cast out. Nothing is measured."""

from __future__ import annotations

import json
from pathlib import Path

from shotcrit.deliver.atomic import write_whole
from shotcrit.errors import InputError
from shotcrit.measuring.take import chosen_take
from shotcrit.readings.cast import Cast, read_cast
from shotcrit.readings.marks_csv import cast_to_csv, read_marks_csv
from shotcrit.store.crit_file import CritFile

TABLE, CAST, CRIT = ".csv", ".json", ".crit"


def convert_marks(source: Path, target: Path, *, base: Path | None = None) -> int:
    """Write the placed marks of `source` to `target`; returns how many.

    source : a cast (.json), a table (.csv) or a crit (.crit: its newest take's cast); target : .csv or .json
    base : a cast that a table's marks are put into
    Raises InputError, one sentence, before anything is written.
    """
    if target.suffix.lower() not in (TABLE, CAST):
        raise InputError(f"{target} is no name for marks; end it in .csv for a table, or in .json for a cast")
    cast = _cast_of(source, read_cast(base) if base else None)
    text = cast_to_csv(cast) if target.suffix.lower() == TABLE else _as_json(cast)
    write_whole(target, text.encode())
    return sum(len(spots) for part in cast.marked for spots in part.marks.values())


def _cast_of(source: Path, base: Cast | None) -> Cast:
    kind = source.suffix.lower()
    if kind == TABLE:
        return read_marks_csv(source, base)
    if base is not None:
        raise InputError(f"{source} is no table, so there is nothing to put into a cast; leave --cast out")
    if kind == CAST:
        return read_cast(source)
    if kind != CRIT:
        raise InputError(f"{source} holds no marks; give a cast (.json), a table (.csv) or a crit (.crit)")
    with CritFile.open(source) as crit, crit.view() as view:
        return chosen_take(view, source).cast


def _as_json(cast: Cast) -> str:
    return json.dumps(cast.model_dump(mode="json", exclude_defaults=True), indent=1, ensure_ascii=False) + "\n"
