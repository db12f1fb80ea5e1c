"""The page of results: one section a part, each with the day and the machine of its own run."""

from __future__ import annotations

import re

HEAD = (
    "# Bench\n\nWritten by `python bench/run.py --write`. The rows of a part come from one run on one machine; parts that were not run again keep "
    "their own date. Ratios are what counts: both sides of each were measured in the same run.\n"
)
_SECTION = re.compile(r"^## (\w+)\n", re.MULTILINE)


def merged(page: str, part: str, machine: str, table: str) -> str:
    """The page with the section of `part` new, the others as they were, in the order of their names."""
    pieces = _SECTION.split(page)[1:]
    sections = dict(zip(pieces[::2], (body.strip() for body in pieces[1::2]), strict=True))
    sections[part] = f"{machine}\n\n{table}"
    return HEAD + "".join(f"\n## {name}\n\n{sections[name]}\n" for name in sorted(sections))
