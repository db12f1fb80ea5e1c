"""`marks`: marks from one file to another."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from shotcrit.measuring.marks_files import convert_marks


def marks_command(
    source: Annotated[Path, typer.Argument(metavar="FROM", help="A cast (.json), a table (.csv), or a crit (.crit): its newest take.")],
    target: Annotated[Path, typer.Argument(metavar="TO", help="A table (.csv) or a cast (.json).")],
    cast: Annotated[Path | None, typer.Option("--cast", help="A cast that the marks of a table are put into.")] = None,
) -> None:
    """Write placed marks as a table for spreadsheets and scripts, or a table's marks as a cast."""
    typer.echo(f"{convert_marks(source, target, base=cast)} placed marks in {target}")
