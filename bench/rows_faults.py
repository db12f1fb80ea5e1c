"""Ten thousand mutants of small inputs of every kind, each within 30 s and 2 GB."""

from __future__ import annotations

from pathlib import Path

from tests.make.mutants import MEMORY, SECONDS, try_all

from bench.registry import Result, row

COUNT = 10_000
SEED = 1


@row("faults", goal="none")
def mutants_that_break(work: Path) -> Result:
    """Mutated inputs that end in a traceback, a signal, over 2 GB or over 30 s"""
    wrong = try_all(work / "mutants", COUNT, SEED)
    note = f"{COUNT:,} mutants of mp4, mov, mkv, png, wav, flac, lines, TextGrid, cast, marks, glTF, USD, BVH, crit, answers; seed {SEED}"
    listed = f": {'; '.join(one[:80] for one in wrong[:5])}" if wrong else ""
    return Result(len(wrong), f"{note}; {SECONDS:g} s and {MEMORY >> 30} GB each{listed}", unit="mutants", reached=not wrong)
