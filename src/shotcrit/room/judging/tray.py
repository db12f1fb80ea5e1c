"""Findings in the shape that the page lays out: as judged, with their evidence."""

from __future__ import annotations

from collections.abc import Sequence

from shotcrit.checks.finding import Curve, Finding, Stroke
from shotcrit.checks.registry import column_of
from shotcrit.crit.findings import Judged
from shotcrit.crit.records import Numbers, Rewording
from shotcrit.room.judging.shapes import TrayCurve, TrayFinding, TrayStroke
from shotcrit.room.sheet.build import drawn_curve
from shotcrit.sheet import plain
from shotcrit.sheet.lanes.beside import evidence


def tray_finding(item: Judged, markers: Sequence[str]) -> TrayFinding:
    """markers : ids of the first-look markers that the finding lies under."""
    f, words = item.finding, item.decision.rewording if item.decision else Rewording()
    return TrayFinding(
        key=item.key,
        state=item.state,
        worse=item.worse,
        check=f.check,
        kind=f.kind,
        title=plain.title(f),
        who=f.who,
        first=f.span.start if words.first is None else words.first,
        last=f.span.last if words.last is None else words.last,
        frames=list(f.frames),
        numbers=_numbers(f),
        weight=words.weight or f.weight,
        confidence=f.confidence,
        level=f.level,
        says=f.says if words.says is None else words.says,
        suggest=f.suggest if words.suggest is None else words.suggest,
        decision=item.decision,
        markers=list(markers),
        curves=[_curve(curve) for curve in f.curves],
        strokes=[_stroke(stroke) for stroke in f.strokes],
        plan=bool(f.plans),
        column=column_of(f.check),
        evidence=[drawn_curve(drawn) for curve in f.curves for drawn in evidence(curve)],
    )


def _numbers(finding: Finding) -> Numbers:
    return Numbers(value=finding.value, unit=finding.unit, limit=finding.limit, basis=finding.basis)


def _curve(curve: Curve) -> TrayCurve:
    known = [[None if v != v else v for v in values] for values in (curve.seen, curve.wanted)]
    return TrayCurve(name=curve.name, unit=curve.unit, first=curve.first, seen=known[0], wanted=known[1])


def _stroke(stroke: Stroke) -> TrayStroke:
    return TrayStroke(frame=stroke.frame, kind=stroke.kind, points=list(stroke.points), label=stroke.label)
