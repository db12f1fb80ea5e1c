"""Run the bench: ratios measured side by side in one run.

python bench/run.py                 all rows
python bench/run.py media           the rows of one part
python bench/run.py --write         also into bench/results.md
"""

from __future__ import annotations

import argparse
import importlib
import os
import platform
import sys
import tempfile
from pathlib import Path

HERE = Path(__file__).resolve().parent
sys.path[:0] = [str(HERE.parent)]

from bench.registry import ROWS, Result, Row  # noqa: E402


def main() -> int:
    """Exit status 1 when a goal was missed."""
    options = argparse.ArgumentParser(description="Measure ratios side by side.")
    options.add_argument("parts", nargs="*", help="only the rows of these parts")
    options.add_argument("--write", action="store_true", help="write bench/results.md")
    asked = options.parse_args()
    for file in sorted(HERE.glob("rows_*.py")):
        importlib.import_module(f"bench.{file.stem}")
    rows = [r for r in ROWS if not asked.parts or r.part in asked.parts]
    with tempfile.TemporaryDirectory(prefix="shotcrit-bench-") as work:
        done = [(r, _measured(r, Path(work))) for r in rows]
    table = _table(done)
    print("\n" + table)
    if asked.write:
        (HERE / "results.md").write_text(_page(table), encoding="utf-8")
    return int(any(result.reached is False for _, result in done))


def _measured(row: Row, work: Path) -> Result:
    result = row.run(work)
    print(f"{row.part}: {row.name}: {result.value:.2f} {result.unit} ({result.note})", file=sys.stderr)
    return result


def _table(done: list[tuple[Row, Result]]) -> str:
    lines = ["| part | what | measured | goal | note |", "| --- | --- | --- | --- | --- |"]
    for row, result in done:
        verdict = {True: " (reached)", False: " (MISSED)", None: ""}[result.reached]
        lines.append(f"| {row.part} | {row.name} | {result.value:.2f} {result.unit} | {row.goal}{verdict} | {result.note} |")
    return "\n".join(lines)


def _page(table: str) -> str:
    machine = f"{os.cpu_count()} cores, {platform.machine()}, Python {platform.python_version()}"
    return f"# Bench\n\nWritten by `python bench/run.py --write`, all rows in one run on one machine: {machine}.\n\n{table}\n"


if __name__ == "__main__":
    sys.exit(main())
