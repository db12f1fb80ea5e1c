"""Stills of the noted frames with their drawings, as PNG: what was drawn over the frame, and how it is counted in the file's own text."""

from __future__ import annotations

import struct
import zlib

from shotcrit.deliver.crit_input import CritForDelivery, NoteForDelivery
from shotcrit.deliver.exchange.format import Format, Made, counting
from shotcrit.deliver.sheet_pdf import data_uri, jpeg_shape
from shotcrit.deliver.typeset import compile_png
from shotcrit.errors import InputError
from shotcrit.sheet.ink_svg import WIDE, drawing_svg
from shotcrit.sheet.rows_svg import wrap_svg
from shotcrit.sheet.svg import el

STILL_WIDE = 1280
"""Pixels at most; as wide as the stills that deliveries are given."""
_TEXT_AT = 33
"""Bytes of a PNG's signature and header, behind which its text may stand (PNG, third edition, 5.6: chunk ordering)."""


def stills_png(crit: CritForDelivery) -> Made:
    """'note1-frame1046.png' and so on. Raises InputError where there are no pictures."""
    count = counting(crit)
    shown = [(number, one, one.still) for number, one in enumerate(crit.notes, start=1) if one.still is not None]
    if not shown:
        raise InputError(f"{crit.shot} has no note with a picture to show; leave stills out")
    wide = min(crit.measured.readings.movie.width or STILL_WIDE, STILL_WIDE)
    files = {}
    for number, one, still in shown:
        at = count.shown(one.shown_at)
        code = count.timecode(one.shown_at)
        told = {"Title": f"{crit.shot} {crit.take_label}, frame {at}", "Description": one.what, "Comment": count.about(), "frame": str(at)}
        picture = compile_png(_drawn(one, still), (wide, round(wide * jpeg_shape(still))))
        files[f"note{number}-frame{at}.png"] = with_text(picture, {**told, **({"timecode": code} if code else {})})
    return Made(files, (count.remark,) if count.remark else ())


def _drawn(one: NoteForDelivery, still: bytes) -> str:
    """The picture with the drawings that hold on it, as SVG."""
    shape = jpeg_shape(still)
    held = [d for d in one.drawings if d.first <= one.shown_at <= d.last]
    layers = [el("image", href=data_uri(still), x=0, y=0, width=WIDE, height=WIDE * shape)]
    return wrap_svg([*layers, *(drawing_svg(d.strokes, shape, f"d{at}") for at, d in enumerate(held))], WIDE, WIDE * shape, alone=True)


def with_text(png: bytes, told: dict[str, str]) -> bytes:
    """The PNG with a text chunk for each entry (PNG, third edition, 11.3.3.4: iTXt; UTF-8, not compressed)."""
    chunks = b"".join(
        _chunk(b"iTXt", key.encode("latin-1") + b"\0\0\0\0\0" + text.encode("utf-8", "replace")) for key, text in told.items()
    )
    return png[:_TEXT_AT] + chunks + png[_TEXT_AT:]


def _chunk(kind: bytes, data: bytes) -> bytes:
    return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))


FORMAT = Format(
    "stills",
    "stills",
    "Each note's frame as PNG with its drawings on it.",
    "One frame a note, drawings painted in; frame, time code, first frame and rate as text in the file. No other words than in that text.",
    stills_png,
    pictures=True,
)
