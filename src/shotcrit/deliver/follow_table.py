"""What became of a shot from one take to the next, as a readable table: Rich renderables as data; the command line prints them."""

from __future__ import annotations

import io
from collections.abc import Sequence

from rich.console import Console, Group, RenderableType
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from shotcrit.checks.finding import Finding
from shotcrit.clock import Numbering
from shotcrit.counted import counted
from shotcrit.deliver.follow_words import frames_line, title_of, verdicts_line
from shotcrit.deliver.table import FOUND_WIDTH, WIDTH
from shotcrit.sheet import plain
from shotcrit.sheet.svg import clean
from shotcrit.takes.verdicts import Followed, Verdict

_STYLE = {"worse": "bold red", "cannot tell": "yellow", "unchanged": "", "moved": "green"}


def follow_table(followed: Followed) -> RenderableType:
    """The takes, what is otherwise in them as wholes, a verdict for each note and finding, and what is new."""
    parts: list[RenderableType] = [_about(followed), _heading(verdicts_line(followed.verdicts))]
    old, new = followed.old.readings.numbering, followed.new.readings.numbering
    if followed.verdicts:
        parts.append(_verdicts(followed.verdicts, old, new))
    found = followed.new_findings
    parts.append(_heading(f"{counted(len(found), 'new finding')} that the old take had not" if found else "Nothing new was found"))
    if found:
        parts.append(_findings(found, new))
    return Group(*parts)


def follow_table_text(followed: Followed, *, width: int = WIDTH) -> str:
    """The same as plain text without colour."""
    out = io.StringIO()
    Console(file=out, width=width, color_system=None, force_terminal=False, legacy_windows=False).print(follow_table(followed))
    return out.getvalue()


def _heading(text: str) -> RenderableType:
    return Padding(Text(text, style="bold"), (1, 0, 0, 0))


def _about(followed: Followed) -> RenderableType:
    table = Table.grid(padding=(0, 2))
    table.add_column(style="dim", justify="right")
    table.add_column()
    for name, take in (("old take", followed.old), ("new take", followed.new)):
        info = take.readings.movie
        table.add_row(name, Text(clean(f"{info.name}: {plain.frames_line(info)}; {plain.rate_line(info)}")))
    for remark in followed.remarks:
        table.add_row("otherwise", Text(clean(remark)))
    return table


def _verdicts(verdicts: Sequence[Verdict], old: Numbering, new: Numbering) -> RenderableType:
    table = Table(box=None, padding=(0, 2, 1, 0), header_style="dim", pad_edge=False)
    table.add_column("verdict", no_wrap=True)
    table.add_column("frames", max_width=FOUND_WIDTH)
    table.add_column("about", max_width=FOUND_WIDTH)
    table.add_column("from, to, limit", ratio=1)
    for verdict in verdicts:
        about = Text.assemble(clean(title_of(verdict)), "\n", (clean(verdict.who or ""), "dim"))
        word = Text.assemble((verdict.verdict, _STYLE[verdict.verdict]), "\n", (verdict.weight, "dim"))
        asked = (f"{'Praised' if verdict.weight == 'keep' else 'Asked'}: {clean(verdict.asked)}\n", "italic") if verdict.asked else ""
        table.add_row(word, frames_line(verdict, old, new), about, Text.assemble(asked, clean(verdict.says)))
    return table


def _findings(findings: Sequence[Finding], numbering: Numbering) -> RenderableType:
    table = Table(box=None, padding=(0, 2, 1, 0), header_style="dim", pad_edge=False)
    table.add_column("frames", no_wrap=True)
    table.add_column("found", max_width=FOUND_WIDTH)
    table.add_column("what, and what to try", ratio=1)
    for finding in findings:
        said = Text.assemble(clean(finding.says), ("\nTry: " + clean(finding.suggest), "italic"))
        table.add_row(plain.frames_of(finding, numbering), Text.assemble(plain.title(finding), "\n", clean(plain.value(finding))), said)
    return table
