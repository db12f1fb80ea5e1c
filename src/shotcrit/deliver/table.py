"""The readable table for people: Rich renderables as data; the command line prints them."""

from __future__ import annotations

import io

from rich.console import Console, Group, RenderableType
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from shotcrit.checks.finding import Finding, NotMeasured
from shotcrit.checks.measured import Measured
from shotcrit.clock import Numbering
from shotcrit.sheet import plain
from shotcrit.sheet.svg import clean

WIDTH = 110
"""Columns of the plain text (guess: fits a terminal beside an editor)."""
FOUND_WIDTH = 24
"""Columns, so that 80 of a plain terminal leave half of it to what is said (guess)."""
_STYLE = {"must": "bold red", "polish": "yellow", "keep": "green"}


def measure_table(measured: Measured) -> RenderableType:
    """Everything that was measured, in reading order: the movie, what is heard, what is seen, findings, what is not measured."""
    parts: list[RenderableType] = [_about(measured)]
    parts.append(_heading(plain.findings_line(measured.findings)))
    if measured.findings:
        parts.append(_findings(measured.findings, measured.readings.numbering))
    if measured.not_measured:
        parts += [_heading("Not measured"), _missing(measured.not_measured)]
    return Group(*parts)


def measure_table_text(measured: Measured, *, width: int = WIDTH) -> str:
    """The same as plain text without colour."""
    out = io.StringIO()
    Console(file=out, width=width, color_system=None, force_terminal=False, legacy_windows=False).print(measure_table(measured))
    return out.getvalue()


def _heading(text: str) -> RenderableType:
    return Padding(Text(text, style="bold"), (1, 0, 0, 0))


def _about(measured: Measured) -> RenderableType:
    table = Table.grid(padding=(0, 2))
    table.add_column(style="dim", justify="right")
    table.add_column()
    for name, value in plain.about(measured):
        table.add_row(name, Text(clean(value)))
    return table


def _findings(findings: tuple[Finding, ...], numbering: Numbering) -> RenderableType:
    table = Table(box=None, padding=(0, 2, 1, 0), header_style="dim", pad_edge=False)
    table.add_column("no.", justify="right")
    table.add_column("frames", no_wrap=True)
    table.add_column("found", max_width=FOUND_WIDTH)
    table.add_column("what, what to try, and by which measure", ratio=1)
    for index, finding in enumerate(findings, start=1):
        said = Text.assemble(
            clean(finding.says),
            ("\nTry: " + clean(finding.suggest), "italic"),
            ("\n" + clean(plain.measure_of(finding)), "dim"),
        )
        found = Text.assemble(plain.title(finding), "\n", clean(plain.value(finding)), "\n", (finding.weight, _STYLE[finding.weight]))
        table.add_row(str(index), plain.frames_of(finding, numbering), found, said)
    return table


def _missing(missing: tuple[NotMeasured, ...]) -> RenderableType:
    table = Table.grid(padding=(0, 2))
    for item in missing:
        table.add_row(item.check, Text(clean(item.who or "")), Text(clean("needs " + item.needs), style="dim"))
    return table
