"""The page: one HTML file that asks nobody for anything. Findings with their stills, the upright sheet, what was not measured.

A page is a row of titled parts, so that other deliveries are made of the same pieces.
"""

from __future__ import annotations

import base64
import hashlib
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup

from shotcrit.checks.measured import Measured
from shotcrit.checks.registry import name_of
from shotcrit.crit.unreleased import LINE
from shotcrit.deliver.atomic import write_whole
from shotcrit.deliver.cards import cards
from shotcrit.deliver.sheet_pdf import Still, shot_stills
from shotcrit.deliver.typeset import TEMPLATES, clean_all
from shotcrit.sheet import plain
from shotcrit.sheet.block import ROW, SVG_CSS, Block
from shotcrit.sheet.build import build_sheet
from shotcrit.sheet.fonts import fonts_css
from shotcrit.sheet.layout import columns, frames_a_second, least_width
from shotcrit.sheet.model import Sheet
from shotcrit.sheet.palette import palette_css
from shotcrit.sheet.rows_svg import block_svg, heads_svg
from shotcrit.sheet.svg import clean

SECONDS_A_BLOCK = 4
"""Rows are drawn in blocks of this length, so that a browser draws only what is in sight and paper breaks between them."""
LEAST_SHEET = 430.0
"""The sheet on the page is at least this wide, in points, so that words stand beside their phones."""


@dataclass(frozen=True)
class Part:
    """One titled piece of a page. body is HTML that is safe already; kind: 'sheet' stands at the side, 'text' flows."""

    id: str
    title: str
    body: Markup
    kind: str = "text"
    note: str = ""


def environment() -> Environment:
    """Our templates, every value escaped."""
    made = Environment(loader=FileSystemLoader(TEMPLATES), autoescape=True, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True)
    made.filters["clean"] = clean
    return made


def render(template: str, **values: Any) -> Markup:
    """One template with values; the outcome is safe HTML."""
    return Markup(environment().get_template(template).render(**clean_all(values)))


def svg(text: str) -> Markup:
    """A drawing of ours, which svg.py has escaped."""
    return Markup(text)


def page_html(title: str, subtitle: str, about: Sequence[str], parts: Sequence[Part], *, unreleased: str, caution: str = "") -> str:
    """The whole file. unreleased: the line about unreleased pictures, empty for none; caution: of pictures that can hurt, empty for none.

    Its policy lets in nothing but what is inside: own style and script by their hash, pictures and type as data.
    """
    style = palette_css() + fonts_css() + SVG_CSS + _file("page.css")
    script = _file("page.js") + _file("crit.js")
    return str(
        render(
            "page.html.j2",
            title=title,
            subtitle=subtitle,
            about=list(about),
            unreleased=unreleased,
            caution=caution,
            parts=list(parts),
            policy=policy(style, script),
            style=Markup(style),
            script=Markup(script),
        )
    )


def policy(style: str, script: str) -> str:
    """Content Security Policy (W3C CSP 3): nothing from outside, and inside only what we wrote."""
    allowed = {
        "default-src": "'none'",
        "img-src": "data:",
        "font-src": "data:",
        "media-src": "data: blob:",
        "style-src": _hash(style),
        "script-src": _hash(script),
        "base-uri": "'none'",
        "form-action": "'none'",
    }
    return "; ".join(f"{key} {value}" for key, value in allowed.items())


def _hash(text: str) -> str:
    digest = base64.b64encode(hashlib.sha256(text.encode("utf-8")).digest()).decode("ascii")
    return f"'sha256-{digest}'"


def _file(name: str) -> str:
    return (TEMPLATES / name).read_text(encoding="utf-8")


def measured_page(measured: Measured, *, still: Still | None, unreleased: str = LINE) -> str:
    """The page of one measurement."""
    sheet = build_sheet(measured)
    info = measured.readings.movie
    about = [plain.frames_line(info), plain.rate_line(info), f"{float(info.duration_s):.2f} s"]
    parts = [
        sheet_part(sheet, shot_stills(sheet, still)),
        findings_part(measured, sheet, still),
        heard_part(measured, plain.about(measured)),
        *missing_parts(measured),
        method_part(),
    ]
    return page_html(
        sheet.title, " and ".join(sheet.people), about, parts, unreleased=unreleased, caution=plain.flashing(measured.findings)
    )


def write_page(measured: Measured, path: Path, *, still: Still | None = None, unreleased: str = LINE) -> None:
    """Write the page to `path`, whole or not at all. Raises InputError when that cannot be."""
    write_whole(path, measured_page(measured, still=still, unreleased=unreleased).encode("utf-8", "replace"))


def sheet_part(sheet: Sheet, stills: dict[int, tuple[str, float]]) -> Part:
    """The upright sheet in blocks of a few seconds."""
    laid = columns(sheet, max(least_width(sheet) * 1.12, LEAST_SHEET))
    step = SECONDS_A_BLOCK * frames_a_second(sheet)
    blocks = []
    for first in range(0, sheet.frames, step):
        stop = min(first + step, sheet.frames)
        drawn = block_svg(Block(sheet, first, stop, ROW, laid, stills, links=True), alone=False)
        says = f"Frames {sheet.numbering.shown(first)} to {sheet.numbering.shown(stop - 1)}"
        blocks.append({"first": first, "rows": stop - first, "says": says, "svg": svg(drawn)})
    width = laid[-1].x + laid[-1].width
    body = render("sheet.html.j2", blocks=blocks, heads=svg(heads_svg(sheet, laid, alone=False)), width=round(width), row=ROW)
    return Part("sheet", "Sheet", body, kind="sheet")


def findings_part(measured: Measured, sheet: Sheet, still: Still | None) -> Part:
    """Every finding as a card."""
    made = cards(measured, sheet, still, alone=False)
    shown = [{**vars(card), "still": svg(card.still), "strip": svg(card.strip), "plan": svg(card.plan)} for card in made]
    return Part("found", plain.findings_line(measured.findings), render("findings.html.j2", cards=shown))


def heard_part(measured: Measured, about: Sequence[tuple[str, str]]) -> Part:
    """What was measured (`about`), and each line with its words and frames."""
    readings = measured.readings
    spoken: list[dict[str, Any]] = []
    for word in readings.sound.words if readings.sound else ():
        if not spoken or spoken[-1]["line"] != word.line:
            spoken.append({"line": word.line, "who": word.who or "", "words": []})
        span = readings.clock.frames(word.start_s, word.end_s)
        frame = "" if span is None else str(readings.numbering.shown(span.start))
        spoken[-1]["words"].append({"text": word.text, "frame": frame, "row": None if span is None else span.start})
    return Part("heard", "Measured", render("heard.html.j2", about=list(about), spoken=spoken))


def missing_parts(measured: Measured) -> list[Part]:
    """What was not measured and what each needs; no part when nothing is missing."""
    if not measured.not_measured:
        return []
    rows = [{"check": name_of(m.check), "who": m.who or "", "needs": m.needs} for m in measured.not_measured]
    return [Part("missing", "Not measured", render("missing.html.j2", rows=rows))]


def method_part() -> Part:
    """How to read it."""
    return Part("reading", "How to read this", render("reading.html.j2"))
