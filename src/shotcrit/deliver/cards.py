"""A finding as people are shown it, on the page and in the PDF: words, still with strokes, strip."""

from __future__ import annotations

from dataclasses import dataclass

from shotcrit.checks.finding import Finding, Stroke
from shotcrit.checks.measured import Measured
from shotcrit.deliver.plan_svg import plans_svg
from shotcrit.deliver.sheet_pdf import Still, data_uri, jpeg_shape
from shotcrit.deliver.still_svg import annotated, blank
from shotcrit.sheet import plain
from shotcrit.sheet.model import Sheet
from shotcrit.sheet.strip import around, strip_svg

STILL_PX = 960
"""Width of a finding's still; sharp on paper at 9 cm and on the page."""
DEFAULT_SHAPE = 9 / 16


@dataclass(frozen=True)
class Card:
    """One finding. still, strip, plan : SVG text; still is '' for sound alone, plan where no scene tells it; at: the shown frame that the still is of."""

    number: int
    weight: str
    title: str
    who: str
    frames: str
    value: str
    says: str
    suggest: str
    measure: str
    first: int
    last: int
    at: int
    still: str
    strip: str
    plan: str


def cards(measured: Measured, sheet: Sheet, still: Still | None, *, alone: bool) -> list[Card]:
    """Every finding in its order. `alone`: SVG that carries its own style, for the PDF."""
    return [_card(measured, sheet, number, finding, still, alone) for number, finding in enumerate(measured.findings, start=1)]


def _card(measured: Measured, sheet: Sheet, number: int, finding: Finding, still: Still | None, alone: bool) -> Card:
    numbering = measured.readings.numbering
    at = shown_frame(finding, sheet.frames)
    strokes = tuple(s for s in finding.strokes if s.frame == at)
    return Card(
        number=number,
        weight=finding.weight,
        title=plain.title(finding),
        who=finding.who or "",
        frames=plain.frames_of(finding, numbering),
        value=plain.value(finding),
        says=finding.says,
        suggest=finding.suggest,
        measure=plain.measure_of(finding),
        first=finding.span.start,
        last=finding.span.last,
        at=numbering.shown(at),
        still=_still(measured, still, at, strokes, f"Frame {numbering.shown(at)}: {finding.says}", alone),
        strip=strip_svg(around(sheet, finding.span), finding.curves[0] if finding.curves else None, alone=alone),
        plan=plans_svg(finding.plans, f"Plan of frame {numbering.shown(at)}: {finding.says}", alone=alone),
    )


def shown_frame(finding: Finding, frames: int) -> int:
    """The frame that the evidence is drawn on, else the first of single frames, else the middle one."""
    drawn = [s.frame for s in finding.strokes if 0 <= s.frame < frames]
    if drawn:
        return max(sorted(set(drawn)), key=drawn.count)
    return min(finding.frames[0] if finding.frames else (finding.span.start + finding.span.last) // 2, frames - 1)


def _still(measured: Measured, still: Still | None, at: int, strokes: tuple[Stroke, ...], alt: str, alone: bool) -> str:
    if measured.readings.picture is None:
        return ""
    if still is None:
        info = measured.readings.movie
        shape = info.height / info.width if info.height and info.width else DEFAULT_SHAPE
        return blank(alt, shape, alone=alone) if strokes else ""
    jpeg = still(at, STILL_PX)
    return annotated(data_uri(jpeg), jpeg_shape(jpeg), strokes, alt, alone=alone)
