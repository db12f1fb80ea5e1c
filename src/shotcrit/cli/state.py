"""`doctor`: what is installed here, what is missing, one line each."""

from __future__ import annotations

import typer

from shotcrit.measuring.doctor import examine


def doctor_command() -> None:
    """Say what is installed here and what is missing."""
    lines = examine()
    width = max(len(line.what) for line in lines)
    for line in lines:
        mark = "ok     " if line.good else "missing"
        typer.echo(f"{mark}  {line.what:<{width}}  {line.says}")
    if any(line.needed and not line.good for line in lines):
        raise typer.Exit(1)
