"""The demo film with every mark of its cast, against its key: what a reviewer gets from marks alone."""

from __future__ import annotations

from functools import cache
from importlib.resources import files
from pathlib import Path
from typing import Any

from tests.make.demo_marks import told_by_marks
from tests.unit.test_demo_key import meets

from bench.registry import Result, row
from shotcrit.checks.finding import Finding
from shotcrit.measuring.demo import FIRST_FRAME, STEM
from shotcrit.measuring.measure import Workbench, measure
from shotcrit.measuring.request import request_from_files
from shotcrit.store.cache import open_cache

TAKES = ("take1", "take2")
Fault = dict[str, Any]


@cache
def _measured(work: Path, take: str) -> tuple[tuple[Finding, ...], tuple[Fault, ...]]:
    """Findings of a take from all of its marks, without the scene, and what its key says that a check looks for and marks can tell."""
    stem = Path(str(files("shotcrit") / "demo_film")) / f"{STEM}_{take}"
    asked = request_from_files(
        Path(f"{stem}.mp4"), lines=Path(f"{stem}.lines.txt"), cast=Path(f"{stem}.cast.json"), first_frame=FIRST_FRAME
    )
    findings = measure(asked, Workbench(cache=open_cache(root=work / "demo-cache"), proxy=False)).findings
    return tuple(findings), tuple(told_by_marks(take))


@row("demo", goal="all")
def measure_found(work: Path) -> Result:
    """Planted faults of the demo film's two takes that are found on their frames at level 2, all marks followed"""
    told = [(fault, any(meets(f, fault) for f in found)) for take in TAKES for found, faults in [_measured(work, take)] for fault in faults]
    missed = ", ".join(f"{fault['check']} {fault['kind']}" for fault, hit in told if not hit)
    return Result(sum(hit for _, hit in told), f"of {len(told)}; missed: {missed or 'none'}", "", not missed)


@row("demo", goal="none")
def measure_false(work: Path) -> Result:
    """Findings of weight must on the same that nothing was planted for"""
    wrong = [
        f"{take} {finding.check} {finding.kind} at {finding.span.start + FIRST_FRAME}"
        for take in TAKES
        for found, faults in [_measured(work, take)]
        for finding in found
        if finding.weight == "must" and not any(meets(finding, fault) for fault in faults)
    ]
    return Result(len(wrong), "; ".join(wrong) or "both takes", "", not wrong)
