"""The one type family, IBM Plex Sans (SIL Open Font License, fonts/OFL.txt): where its files lie, and how wide its letters are.

Widths come from the font's own tables (OpenType 1.9: 'head', 'hhea', 'hmtx', 'cmap' format 4), so that a drawing knows before it is
drawn whether a word fits. Kerning is left out; it narrows a word by 1 to 2 % (seen on the demo lines), never widens it by more.
"""

from __future__ import annotations

import base64
import struct
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Literal

FOLDER = Path(__file__).parent / "fonts"
Face = Literal["r", "b", "c", "k"]
"""r regular, b semi-bold, c condensed, k condensed semi-bold: also the class names in our drawings."""
FILES: dict[Face, str] = {
    "r": "IBMPlexSans-Regular",
    "b": "IBMPlexSans-SemiBold",
    "c": "IBMPlexSansCondensed-Regular",
    "k": "IBMPlexSansCondensed-SemiBold",
}
NARROWER: dict[Face, Face] = {"r": "c", "b": "k"}
LEAST_SHRINK = 0.8
"""Text is set down to this part of its size before it is cut off (guess: still readable beside its neighbours)."""
FACES_CSS = """\
.r { font-family: "IBM Plex Sans", sans-serif; font-weight: 400 }
.b { font-family: "IBM Plex Sans SmBld", "IBM Plex Sans", sans-serif; font-weight: 600 }
.c { font-family: "IBM Plex Sans", sans-serif; font-weight: 400; font-stretch: condensed }
.k { font-family: "IBM Plex Sans Cond SmBld", "IBM Plex Sans", sans-serif; font-weight: 600; font-stretch: condensed }
"""
"""Works in a browser and in typst, which files each weight under the family name of the font's own name table."""


@dataclass(frozen=True)
class Metrics:
    """widths: advance of each character that the face has, in thousandths of the size."""

    widths: dict[str, float]
    missing: float


@cache
def metrics(face: Face) -> Metrics:
    """Read a face's advance widths."""
    data = (FOLDER / f"{FILES[face]}.ttf").read_bytes()
    tables = _tables(data)
    per_em = struct.unpack_from(">H", data, tables["head"] + 18)[0]
    count = struct.unpack_from(">H", data, tables["hhea"] + 34)[0]
    advances = [struct.unpack_from(">H", data, tables["hmtx"] + 4 * i)[0] * 1000 / per_em for i in range(count)]
    glyphs = _character_map(data, tables["cmap"])
    widths = {char: advances[min(glyph, count - 1)] for char, glyph in glyphs.items()}
    return Metrics(widths, advances[0])


def text_width(text: str, face: Face, size: float) -> float:
    """Width of one line of `text`, in the unit of `size`. A character that the family lacks counts as a full square."""
    table = metrics(face)
    return sum(table.widths.get(char, 1000.0) for char in text) * size / 1000


def fit(text: str, face: Face, size: float, room: float) -> tuple[str, Face, float]:
    """Make `text` fit into `room`: as it is, else condensed, else smaller, else cut off with an ellipsis."""
    if text_width(text, face, size) <= room:
        return text, face, size
    narrow = NARROWER.get(face, face)
    wide = text_width(text, narrow, size)
    if wide <= room:
        return text, narrow, size
    small = size * max(LEAST_SHRINK, room / wide * (1 - 1e-9))
    if wide * small / size <= room:
        return text, narrow, small
    while text and text_width(text + "…", narrow, small) > room:
        text = text[:-1]
    return text.rstrip() + "…", narrow, small


def wrap(text: str, face: Face, size: float, room: float, most: int) -> list[str]:
    """Break `text` at spaces into at most `most` lines no wider than `room`; the last one is cut off if it must be."""
    lines: list[str] = [""]
    for word in text.split():
        longer = f"{lines[-1]} {word}".strip()
        if lines[-1] and text_width(longer, face, size) > room and len(lines) < most:
            lines.append(word)
        else:
            lines[-1] = longer
    return [fit(line, face, size, room)[0] for line in lines]


def has_all(text: str) -> bool:
    """Whether the family has every letter of `text`; if not, the writer lets the system's fonts help out."""
    known = metrics("r").widths
    return all(char in known or char.isspace() for char in text)


@cache
def fonts_css() -> str:
    """@font-face rules with the four faces inside, for a page that asks nobody for anything."""
    rules = []
    for face, name in FILES.items():
        data = base64.b64encode((FOLDER / f"{name}.woff2").read_bytes()).decode("ascii")
        weight, stretch = (600 if face in "bk" else 400), ("75%" if face in "ck" else "100%")
        rules.append(
            f'@font-face {{ font-family: "IBM Plex Sans"; font-weight: {weight}; font-stretch: {stretch};'
            f" src: url(data:font/woff2;base64,{data}) format('woff2') }}"
        )
    return "\n".join(rules)


def _tables(data: bytes) -> dict[str, int]:
    count = struct.unpack_from(">H", data, 4)[0]
    rows = (struct.unpack_from(">4sIII", data, 12 + 16 * i) for i in range(count))
    return {row[0].decode("ascii"): row[2] for row in rows}


def _character_map(data: bytes, cmap: int) -> dict[str, int]:
    """The Windows Unicode (3, 1) subtable, format 4; every face of the family carries one."""
    count = struct.unpack_from(">H", data, cmap + 2)[0]
    records = (struct.unpack_from(">HHI", data, cmap + 4 + 8 * i) for i in range(count))
    at = cmap + next(offset for platform, encoding, offset in records if (platform, encoding) == (3, 1))
    half = struct.unpack_from(">H", data, at + 6)[0] // 2
    ends, starts, deltas, offsets = (at + 14 + extra + 2 * half * i for i, extra in enumerate((0, 2, 2, 2)))
    found: dict[str, int] = {}
    for i in range(half):
        end, start = (struct.unpack_from(">H", data, base + 2 * i)[0] for base in (ends, starts))
        delta, shift = (struct.unpack_from(">H", data, base + 2 * i)[0] for base in (deltas, offsets))
        for code in range(start, min(end, 0xFFFE) + 1):
            glyph = struct.unpack_from(">H", data, offsets + 2 * i + shift + 2 * (code - start))[0] if shift else code
            found[chr(code)] = (glyph + delta) & 0xFFFF if glyph or not shift else 0
    return {char: glyph for char, glyph in found.items() if glyph}
