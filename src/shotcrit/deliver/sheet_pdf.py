"""The sheet as PDF: a frame-by-frame exposure sheet with the track reading, frames running down, one row a frame."""

from __future__ import annotations

import base64
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Literal

from shotcrit.checks.measured import Measured
from shotcrit.clock import Span
from shotcrit.clock.timecode import frame_to_label, timecode_to_frame
from shotcrit.crit.unreleased import LINE
from shotcrit.deliver.atomic import write_whole
from shotcrit.deliver.typeset import compile_pdf
from shotcrit.errors import InputError
from shotcrit.sheet import plain
from shotcrit.sheet.block import HEAD, Block
from shotcrit.sheet.build import build_sheet
from shotcrit.sheet.layout import columns, frames_a_second, least_width
from shotcrit.sheet.legend import legend_svg
from shotcrit.sheet.model import Sheet
from shotcrit.sheet.rows_svg import block_svg, heads_svg

Still = Callable[[int, int], bytes]
"""still(frame index, width in px) -> JPEG."""
Paper = Literal["a3", "a4", "letter"]

_MM = 72 / 25.4
PAPERS: dict[str, tuple[float, float, float]] = {
    "a3": (297 * _MM, 420 * _MM, 9.6),
    "a4": (210 * _MM, 297 * _MM, 8.6),
    "letter": (612.0, 792.0, 8.6),
}
"""Width, height (ISO 216; ANSI/ASME Y14.1 size A) and the least height of a row, points.

A lower row cannot be read at the distance that the paper is read from (found by printing).
"""
MARGIN, TOP, FOOT, GAP = 10 * _MM, 42.0, 34.0, 4 * _MM
MOST_ROW = 12.0
"""Points; above, rows look lost on the page (found by printing)."""
STILL_PX = 240


@dataclass(frozen=True)
class Plan:
    """How a sheet falls on pages: `rows` a block, `across` blocks a page, `row` points high."""

    rows: int
    across: int
    row: float
    block: float
    width: float
    height: float


def plan_pages(sheet: Sheet, paper: str) -> Plan:
    """As many blocks across as their columns allow, each of as many whole seconds as can be read; a short shot stands in one."""
    width, height, least_row = PAPERS[paper]
    room, body = width - 2 * MARGIN, height - 2 * MARGIN - TOP - FOOT - HEAD
    across = max(1, int((room + GAP) // (least_width(sheet) + GAP)))
    most = int(body // least_row)
    second = frames_a_second(sheet)
    step = second if second <= most else most
    rows = sheet.frames if sheet.frames <= most else max(step, most // step * step)
    if sheet.frames < rows * across:
        across = min(across, -(-sheet.frames // rows))
    block = (room - GAP * (across - 1)) / across
    return Plan(rows, across, min(body / rows, MOST_ROW), block, width, height)


def sheet_pdf(measured: Measured, *, still: Still | None = None, paper: Paper = "a3", unreleased: str = LINE) -> bytes:
    """The sheet as PDF. Raises InputError for paper that we do not know."""
    if paper not in PAPERS:
        raise InputError(f"'{paper}' is no paper that the sheet knows; choose one of {', '.join(PAPERS)}")
    sheet = build_sheet(measured)
    data, files = sheet_pages(measured, sheet, shot_stills(sheet, still), paper, says=[plain.findings_line(measured.findings)])
    return compile_pdf("sheet.typ", {**data, "unreleased": unreleased}, files)


def sheet_pages(
    measured: Measured, sheet: Sheet, stills: Mapping[int, tuple[str, float]], paper: Paper, *, says: Sequence[str] = ()
) -> tuple[dict[str, Any], dict[str, bytes]]:
    """What sheet.typ sets: its data, and the drawings by file name. stills: by frame index, data URI and height over width; says: more for its head."""
    plan = plan_pages(sheet, paper)
    laid = columns(sheet, plan.block)
    files = {"heads.svg": heads_svg(sheet, laid, alone=True).encode()}
    for number, span in enumerate(_blocks(sheet, plan)):
        drawn = Block(sheet, span.start, span.stop, plan.row, laid, dict(stills))
        files[f"b{number}.svg"] = block_svg(drawn, alone=True).encode("utf-8", "replace")
    legend, wide = legend_svg(sheet, plan.width - 2 * MARGIN - 40)
    files["legend.svg"] = legend.encode()
    return _data(measured, sheet, plan, wide, says), files


def write_sheet_pdf(measured: Measured, path: Path, *, still: Still | None = None, paper: Paper = "a3", unreleased: str = LINE) -> None:
    """Write the sheet to `path`, whole or not at all. Raises InputError when that cannot be."""
    write_whole(path, sheet_pdf(measured, still=still, paper=paper, unreleased=unreleased))


def shot_stills(sheet: Sheet, still: Still | None) -> dict[int, tuple[str, float]]:
    """A small still of each shot's first frame, as data URI, with its height over its width."""
    if still is None or not sheet.of("picture"):
        return {}
    return {index: (data_uri(jpeg := still(index, STILL_PX)), jpeg_shape(jpeg)) for index in (0, *sheet.cuts)}


def data_uri(jpeg: bytes) -> str:
    return "data:image/jpeg;base64," + base64.b64encode(jpeg).decode("ascii")


def jpeg_shape(jpeg: bytes) -> float:
    """Height over width, from the frame header (ITU-T T.81, B.2.2: SOF markers C0..CF but C4, C8, CC).

    Raises InputError if it is no JPEG.
    """
    at = 2
    while jpeg[:2] == b"\xff\xd8" and at + 9 <= len(jpeg) and jpeg[at] == 0xFF:
        marker, length = jpeg[at + 1], int.from_bytes(jpeg[at + 2 : at + 4], "big")
        if 0xC0 <= marker <= 0xCF and marker not in (0xC4, 0xC8, 0xCC):
            height, width = (int.from_bytes(jpeg[at + i : at + i + 2], "big") for i in (5, 7))
            if width and height:
                return height / width
            break
        at += 2 + length
    raise InputError("a still is no JPEG picture; measure the movie again")


def _blocks(sheet: Sheet, plan: Plan) -> Iterator[Span]:
    for start in range(0, sheet.frames, plan.rows):
        yield Span(start, min(start + plan.rows, sheet.frames))


def _data(measured: Measured, sheet: Sheet, plan: Plan, legend: float, says: Sequence[str]) -> dict[str, Any]:
    info = measured.readings.movie
    size = f"{info.width} x {info.height}" if info.width else "sound alone"
    about = [
        plain.frames_line(info),
        plain.rate_line(info),
        f"{float(info.duration_s):.2f} s",
        size,
        *says,
    ]
    return {
        "title": sheet.title,
        "people": " and ".join(sheet.people) if len(sheet.people) < 3 else ", ".join(sheet.people),
        "about": about,
        "legend": {"width": legend},
        "page": {
            "width": plan.width,
            "height": plan.height,
            "margin": MARGIN,
            "head": TOP,
            "foot": FOOT,
            "heads": HEAD,
            "body": plan.height - 2 * MARGIN - TOP - FOOT,
            "block": plan.block,
            "gap": GAP,
        },
        "pages": list(_pages(measured, sheet, plan)),
    }


def _pages(measured: Measured, sheet: Sheet, plan: Plan) -> Iterator[dict[str, Any]]:
    spans = list(_blocks(sheet, plan))
    for first in range(0, len(spans), plan.across):
        here = spans[first : first + plan.across]
        whole = Span(here[0].start, here[-1].stop)
        yield {
            "frames": sheet.numbering.text(whole),
            "time": _time(measured, whole),
            "blocks": [f"b{first + i}.svg" for i in range(len(here))],
            "says": [f"Exposure sheet, frames {sheet.numbering.text(span)}" for span in here],
        }


def _time(measured: Measured, span: Span) -> str:
    """The page's time code: the movie's own where it has one, else counted from its first picture."""
    info = measured.readings.movie
    start = 0
    if info.timecode:
        try:
            start = timecode_to_frame(info.timecode, info.rate)
        except InputError:
            start = 0
    return f"{frame_to_label(start + span.start, info.rate)} to {frame_to_label(start + span.last, info.rate)}"
