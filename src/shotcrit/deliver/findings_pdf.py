"""The findings as PDF: one still each, for the animator's desk."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from shotcrit.checks.measured import Measured
from shotcrit.checks.registry import name_of
from shotcrit.crit.unreleased import LINE
from shotcrit.deliver.atomic import write_whole
from shotcrit.deliver.cards import cards
from shotcrit.deliver.sheet_pdf import Still
from shotcrit.deliver.typeset import compile_pdf
from shotcrit.sheet import plain
from shotcrit.sheet.build import build_sheet


def findings_pdf(measured: Measured, *, still: Still | None = None, unreleased: str = LINE) -> bytes:
    """A4 pages: what was found, each finding with its still, then what was measured and what was not."""
    sheet = build_sheet(measured)
    info = measured.readings.movie
    files: dict[str, bytes] = {}
    shown: list[dict[str, Any]] = []
    for card in cards(measured, sheet, still, alone=True):
        entry = {**vars(card), "still": "", "strip": f"strip{card.number}.svg", "plan": ""}
        files[entry["strip"]] = card.strip.encode("utf-8", "replace")
        if card.still:
            entry["still"] = f"still{card.number}.svg"
            files[entry["still"]] = card.still.encode("utf-8", "replace")
        if card.plan:
            entry["plan"] = f"plan{card.number}.svg"
            files[entry["plan"]] = card.plan.encode("utf-8", "replace")
        shown.append(entry)
    data = {
        "title": sheet.title,
        "people": " and ".join(sheet.people),
        "about": [plain.frames_line(info), plain.rate_line(info), f"{float(info.duration_s):.2f} s"],
        "unreleased": unreleased,
        "line": plain.findings_line(measured.findings),
        "cards": shown,
        "facts": plain.about(measured),
        "missing": [[name_of(m.check) + (f", {m.who}" if m.who else ""), m.needs] for m in measured.not_measured],
    }
    return compile_pdf("findings.typ", data, files)


def write_findings_pdf(measured: Measured, path: Path, *, still: Still | None = None, unreleased: str = LINE) -> None:
    """Write the findings to `path`, whole or not at all. Raises InputError when that cannot be."""
    write_whole(path, findings_pdf(measured, still=still, unreleased=unreleased))
