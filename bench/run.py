"""Run the bench: ratios measured side by side in one run.

python bench/run.py                 all rows
python bench/run.py media           the rows of one part
python bench/run.py --write         also into bench/results.md, part by part; parts that were not run keep what they had, with their date

A row that fails is told and the others run on.
"""

from __future__ import annotations

import argparse
import importlib
import os
import platform
import signal
import subprocess
import sys
import tempfile
import traceback
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from math import isfinite
from pathlib import Path
from types import FrameType

HERE = Path(__file__).resolve().parent
sys.path[:0] = [str(HERE.parent)]

from bench.registry import ROWS, Result, Row  # noqa: E402
from bench.results import merged  # noqa: E402

RESULTS = HERE / "results.md"
LONGEST_ROW_S = 900
"""Seconds after which a row is given up: the longest takes about three minutes on two cores."""

Done = list[tuple[Row, Result]]


def main() -> int:
    """Exit status 1 when a goal was missed or a row failed."""
    options = argparse.ArgumentParser(description="Measure ratios side by side.")
    options.add_argument("parts", nargs="*", help="only the rows of these parts")
    options.add_argument("--write", action="store_true", help="write bench/results.md")
    asked = options.parse_args()
    rows = [r for r in _rows() if not asked.parts or r.part in asked.parts]
    unknown = set(asked.parts) - {r.part for r in rows}
    if unknown:
        options.error(f"no such part: {', '.join(sorted(unknown))}")
    done: Done = []
    with tempfile.TemporaryDirectory(prefix="shotcrit-bench-") as work:
        for part in dict.fromkeys(r.part for r in rows):
            found = [(r, _measured(r, Path(work))) for r in rows if r.part == part]
            done += found
            if asked.write:
                old = RESULTS.read_text(encoding="utf-8") if RESULTS.exists() else ""
                RESULTS.write_text(merged(old, part, _machine(), _table(found)), encoding="utf-8")
    print("\n" + _table(done))
    return int(any(result.reached is False for _, result in done))


def _rows() -> list[Row]:
    """Every registered row; for a file of rows that cannot be loaded, one row that fails with the reason."""
    for file in sorted(HERE.glob("rows_*.py")):
        part = file.stem.removeprefix("rows_")
        try:
            importlib.import_module(f"bench.{file.stem}")
        except Exception as problem:
            ROWS.append(Row(f"{file.name} cannot be loaded", part, "", _failing(problem)))
    return ROWS


def _failing(problem: Exception):  # type: ignore[no-untyped-def]
    def run(_work: Path) -> Result:
        raise problem

    return run


def _measured(row: Row, work: Path) -> Result:
    try:
        with _at_most(LONGEST_ROW_S):
            result = row.run(work)
    except Exception as problem:
        traceback.print_exc()
        result = Result(float("nan"), f"failed: {_one_line(problem)}", "", False)
    print(f"{row.part}: {row.name}: {_value(result)} ({result.note})", file=sys.stderr, flush=True)
    return result


@contextmanager
def _at_most(limit_s: int) -> Iterator[None]:
    """Raises TimeoutError in the work when it takes longer."""

    def late(_signal: int, _frame: FrameType | None) -> None:
        raise TimeoutError(f"given up after {limit_s} s")

    before = signal.signal(signal.SIGALRM, late)
    signal.alarm(limit_s)
    try:
        yield
    finally:
        signal.alarm(0)
        signal.signal(signal.SIGALRM, before)


def _one_line(problem: Exception) -> str:
    said = problem.stderr if isinstance(problem, subprocess.CalledProcessError) and problem.stderr else str(problem)
    text = said if isinstance(said, str) else said.decode(errors="replace")
    return f"{type(problem).__name__}: {' '.join(text.split())[-200:]}".replace("|", "/")


def _value(result: Result) -> str:
    return f"{result.value:.2f} {result.unit}".strip() if isfinite(result.value) else "none"


def _table(done: Done) -> str:
    lines = ["| part | what | measured | goal | note |", "| --- | --- | --- | --- | --- |"]
    for row, result in done:
        verdict = {True: " (reached)", False: " (MISSED)", None: ""}[result.reached]
        lines.append(f"| {row.part} | {row.name} | {_value(result)} | {row.goal}{verdict} | {result.note} |")
    return "\n".join(lines)


def _machine() -> str:
    when = datetime.now(UTC).strftime("%Y-%m-%d %H:%M UTC")
    return f"{when}; {os.cpu_count()} cores, {platform.machine()}, Python {platform.python_version()}"


if __name__ == "__main__":
    sys.exit(main())
