"""Ten thousand mutants of small inputs of every kind, each within 30 s and 2 GB."""

from __future__ import annotations

import os
from pathlib import Path
from time import monotonic

from tests.make.mutants import MEMORY, SECONDS

from bench.mutants_kept import COUNT, SEED, go_on
from bench.registry import Result, row

PATIENCE_S = 600.0
"""For this row in one run; the next run of the bench goes on where it ended."""
KEPT = Path(__file__).resolve().parents[1] / "out" / "mutants-tried.json"
KEPT_SETTING = "SHOTCRIT_MUTANTS_TRIED"
"""Environment variable with another place for that file."""


@row("faults", goal="none of all")
def mutants_that_break(work: Path) -> Result:
    """Mutated inputs that end in a traceback, a signal, over 2 GB or over 30 s"""
    file = Path(os.environ.get(KEPT_SETTING) or KEPT)
    file.parent.mkdir(parents=True, exist_ok=True)
    found = go_on(file, work / "mutants", until=monotonic() + PATIENCE_S)
    note = f"{found.tried:,} of {COUNT:,} mutants of mp4, mov, mkv, png, wav, flac, lines, TextGrid, cast, marks, glTF, USD, BVH, crit, answers"
    listed = f": {'; '.join(said[:80] for _, said in found.wrong[:5])}" if found.wrong else ""
    more = "" if found.tried == COUNT else "; run again to go on"
    slowest = f"slowest {found.slowest_s:g} s with the start of its process"
    return Result(
        len(found.wrong), f"{note}; seed {SEED}; {SECONDS:g} s and {MEMORY >> 30} GB each; {slowest}{listed}{more}", unit="mutants",
        reached=False if found.wrong else True if found.tried == COUNT else None,
    )  # fmt: skip
