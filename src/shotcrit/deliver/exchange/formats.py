"""The formats there are: nothing else lists them."""

from __future__ import annotations

from shotcrit.deliver.exchange import (
    captions,
    clip_otio,
    cut_list,
    drawings_svg,
    notes_csv,
    notes_json,
    readings_npz,
    readings_parquet,
    sheet_csv,
    stills_png,
    track_textgrid,
    web_annotations,
)
from shotcrit.deliver.exchange.format import Format
from shotcrit.deliver.exchange.incoming import Source

FORMATS: tuple[Format, ...] = (
    clip_otio.FORMAT, cut_list.FORMAT, notes_csv.FORMAT, notes_json.FORMAT, web_annotations.FORMAT, stills_png.FORMAT, drawings_svg.FORMAT,
    captions.WORDS, captions.NOTES, captions.CHAPTERS,
    track_textgrid.FORMAT,
    sheet_csv.FORMAT, readings_npz.FORMAT, readings_parquet.FORMAT,
)  # fmt: skip
"""Ways out, in the order in which people are shown them."""

SOURCES: tuple[Source, ...] = (clip_otio.SOURCE, notes_csv.SOURCE, notes_json.SOURCE, web_annotations.SOURCE, drawings_svg.SOURCE)
"""Ways in, told apart by what a file's name ends in."""
