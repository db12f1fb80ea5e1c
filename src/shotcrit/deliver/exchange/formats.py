"""The formats there are: nothing else lists them."""

from __future__ import annotations

from shotcrit.deliver.exchange import notes_csv, notes_json
from shotcrit.deliver.exchange.format import Format
from shotcrit.deliver.exchange.incoming import Source

FORMATS: tuple[Format, ...] = (notes_csv.FORMAT, notes_json.FORMAT)
"""Ways out, in the order in which people are shown them."""

SOURCES: tuple[Source, ...] = (notes_csv.SOURCE, notes_json.SOURCE)
"""Ways in, told apart by what a file's name ends in."""
