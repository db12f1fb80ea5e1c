"""The reference pages that follow from the code: checks with their limits, commands with their options. `make docs` writes them."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Any

import typer.main

from shotcrit.checks.about import About
from shotcrit.checks.installed import door
from shotcrit.cli.app import app
from shotcrit.cli.reference_cast import cast_page
from shotcrit.deliver.exchange.formats import FORMATS, SOURCES
from shotcrit.measuring.deliveries import DELIVERIES
from shotcrit.readings.cast import MARK_NAMES
from shotcrit.readings.marks_csv import COLUMNS

TABLE_COLUMNS = {
    "frame": "the frame as shown, a whole number",
    "who": "the character or prop; a name that begins like a formula has a `'` before it",
    "mark": "the mark's name",
    "x": "part of the picture's width, from the left; empty where the mark is lost",
    "y": "part of the picture's height, from the top",
    "error": "standard error of a followed mark, pixels of the full-size picture; 0 where it was placed; may be left out",
    "placed": "1 where a person placed the mark, 0 where it was followed; without this column all rows are placed ones",
    "kind": "character or prop; may be left out: a name whose marks are all in the list above is then a character",
}
ABOUT_EXCHANGE = """# Files for other programs

`shotcrit send CRIT --to FOLDER --only KIND` writes them, and the room's *Send* has them under *For other programs*.
Nothing but what the reviewer took or wrote goes into any of them. What a format could not hold of this crit is said when it is written.
"""
ABOUT_COUNTING = """## How frames are counted

Every file says the first frame, the rate and the time code, as far as it can. Rates are exact: 23.976 is 24000/1001.
Time code begins where the movie's own begins; where the movie carries none, frame 0 stands at 00:00:00:00, so that frame 1001 is 00:00:41:17 at 24.
It is drop-frame (`;`) where the movie's own is, at 29.97 and 59.94 alone (SMPTE ST 12-1), and leaves no number out elsewhere.
At rates without time code (12.5, say) it is left out, and so is a file that consists of it.
Seconds count from the first picture; an end is where the last frame ends.
"""
ABOUT_BRINGING = """## What can be read

`shotcrit bring FILE CRIT` and *Notes that were written in another program* in the room's *Send* put notes behind those that are there, as one edit.
A note that stands there already, word for word and on the same frames, is not put twice. A file that counts at another rate, from another frame, or
outside the take changes nothing, and the sentence says where.
"""
HEAD = "<!-- Written by `make docs` from the code; a test compares it. Do not edit by hand. -->\n\n"


def checks_page() -> str:
    """Every check with its limits and where they come from."""
    parts = [
        HEAD,
        "# Checks and their limits\n\nA limit is a default. Put your own over it with `--limit check.name=value`, or in the room's settings. "
        "Every finding names the basis of the limit that it was held against.\n",
    ]
    for check in (one.about for one in door().checks.values() if not one.source):
        parts.append(f"\n## {check.id}: {check.title}\n\n{check.help}\n\n{_said(check)}\n\n")
        if check.limits:
            parts.append("| limit | default | what it is | basis |\n| --- | --- | --- | --- |\n")
        for limit in check.limits:
            name = f"{check.id}.{limit.name}"
            parts.append(f"| `{name}` | {limit.value:g} {_cell(limit.unit)} | {_cell(limit.help)} | {_cell(limit.basis)} |\n")
    return "".join(parts)


def _said(check: About) -> str:
    """Its kinds, the sheet's column, what it needs, and the version of its rule."""
    kinds = ", ".join(f"`{kind}`" for kind in check.kinds)
    needs = [*check.needs.of, *(["marks that contacts name"] if check.needs.contacts else []), *(f"`{mark}`" for mark in check.needs.marks)]
    theirs = f"; of whom is looked at: {', '.join(f'`{mark}`' for mark in check.needs.theirs)}" if check.needs.theirs else ""
    return f"Kinds: {kinds}. On the sheet: {check.column or 'found'}. Needs, to say all: {', '.join(needs)}{theirs}. Rule: version {check.version}."


def _cell(text: str) -> str:
    return text.replace("|", "\\|").replace("\n", " ")


def commands_page() -> str:
    """Every command with its options, the deliveries, the environment."""
    group: Any = typer.main.get_command(app)
    parts = [
        HEAD,
        "# Commands\n\nExit status: 0 done, 1 something needed is missing (`doctor`), 2 bad input (one sentence says which), 70 an "
        "error of ours (the sentence names a report), 130 stopped.\n",
    ]
    for name in group.list_commands(None):
        command = group.get_command(None, name)
        parts.append(f"\n## shotcrit {name}\n\n{(command.help or '').strip()}\n\n| option | meaning |\n| --- | --- |\n")
        for parameter in command.params:
            flags = (
                ", ".join(f"`{flag}`" for flag in parameter.opts)
                if parameter.opts[0].startswith("-")
                else f"`{parameter.metavar or parameter.name}`"
            )
            parts.append(f"| {flags} | {_cell(getattr(parameter, 'help', '') or '')} |\n")
    parts.append("\n## What can be sent\n\n| name | file | what it is |\n| --- | --- | --- |\n")
    parts += [f"| `{d.name}` | `NAME-{d.ending}` | {_cell(d.help)} |\n" for d in DELIVERIES]
    parts.append(
        "\n## Environment\n\n| name | meaning |\n| --- | --- |\n| `SHOTCRIT_CACHE` | folder of derived data; it can be deleted at any time |\n"
        "| `SHOTCRIT_CACHE_GB` | how large it may grow, in GB |\n| `NO_BROWSER` | when set, the room's address is printed and no browser is opened |\n"
    )
    return "".join(parts)


def marks_page() -> str:
    """Every mark name that checks know."""
    names = "\n".join(f"- `{name}`" for name in sorted(MARK_NAMES))
    columns = "".join(f"| `{name}` | {TABLE_COLUMNS[name]} |\n" for name in COLUMNS)
    return (
        f"{HEAD}# Marks\n\nLeft and right are the character's own. A prop's marks have any name.\n\n{names}\n\n"
        "## Marks as a table\n\nCSV in UTF-8, one row a mark and frame. The room reads and writes it, so do `shotcrit marks` and `measure --marks`. Placed "
        "marks are written with all their digits and come back exactly; rows with `placed` 0 are not read.\n\n"
        f"| column | what it holds |\n| --- | --- |\n{columns}"
    )


def exchange_page() -> str:
    """Every format of other programs: what it holds, what it cannot, and what can be read."""
    out = "".join(f"| `{form.kind}` | {_cell(form.help)} | {_cell(form.holds)} |\n" for form in FORMATS)
    back = "".join(f"| {source.name} | {', '.join(source.endings)} | {_cell(source.help)} |\n" for source in SOURCES)
    return (
        f"{HEAD}{ABOUT_EXCHANGE}\n| `--only` | what it is | what it holds, and what not |\n| --- | --- | --- |\n{out}\n{ABOUT_COUNTING}"
        f"\n{ABOUT_BRINGING}\n| format | file | what it must be |\n| --- | --- | --- |\n{back}"
    )


PAGES = {
    "cast.md": lambda: cast_page(HEAD),
    "checks.md": checks_page,
    "commands.md": commands_page,
    "exchange.md": exchange_page,
    "marks.md": marks_page,
}


def main(folder: Path) -> None:
    """Write every page."""
    folder.mkdir(parents=True, exist_ok=True)
    for name, page in PAGES.items():
        (folder / name).write_text(page(), encoding="utf-8")


if __name__ == "__main__":
    main(Path(sys.argv[1]))
