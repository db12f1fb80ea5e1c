"""PDF and PNG by typst, in memory: a template of ours, data as JSON, drawings as SVG beside it that exist only for the compiler."""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

import typst

from shotcrit.sheet.fonts import FOLDER, has_all
from shotcrit.sheet.palette import COLOURS
from shotcrit.sheet.svg import clean

_COMPILE: Callable[..., Any] = typst.compile
"""The wheel also takes a folder in memory, {name: bytes}; its type stubs do not know that yet (typst 0.15)."""
TEMPLATES = Path(__file__).parent / "templates"


def compile_pdf(template: str, data: Mapping[str, Any], files: Mapping[str, bytes]) -> bytes:
    """Set `template` (a file of ours) with `data` as data.json and `files` by name; these must be UTF-8 text, as SVG is (typst 0.15).

    Only our own fonts are used, so that every machine sets the same page; where a name has letters that they lack,
    the system's fonts may help out.
    """
    told = {**clean_all(data), "colours": {c.name: c.hex for c in COLOURS}}
    text = json.dumps(told, ensure_ascii=False)
    source = {
        "main.typ": (TEMPLATES / template).read_bytes(),
        "house.typ": (TEMPLATES / "house.typ").read_bytes(),
        "data.json": text.encode("utf-8"),
        **files,
    }
    return bytes(_COMPILE(source, font_paths=[str(FOLDER)], ignore_system_fonts=has_all(text), format="pdf"))


def compile_png(svg: str, size: tuple[int, int]) -> bytes:
    """One SVG as PNG, `size` pixels wide and high; its letters in our own fonts."""
    wide, high = size
    page = (
        f'#set page(width: {wide}pt, height: {high}pt, margin: 0pt)\n#image("still.svg", width: {wide}pt, height: {high}pt, fit: "stretch")'
    )
    source = {"main.typ": page.encode(), "still.svg": svg.encode("utf-8", "replace")}
    made = _COMPILE(source, font_paths=[str(FOLDER)], ignore_system_fonts=has_all(svg), format="png", ppi=72.0)
    return bytes(made[0] if isinstance(made, list) else made)


def clean_all(data: Any) -> Any:
    """Every text inside without the characters that a page cannot hold; safe HTML is left as it is."""
    if hasattr(data, "__html__"):
        return data
    if isinstance(data, str):
        return clean(data)
    if isinstance(data, Mapping):
        return {key: clean_all(value) for key, value in data.items()}
    if isinstance(data, list | tuple):
        return [clean_all(value) for value in data]
    return data
