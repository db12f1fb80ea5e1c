"""Door one: each command is one call of the desk."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from shotcrit import __version__
from shotcrit.cli import run as running
from shotcrit.cli.options import CastFile, FirstFrame, LinesFile, LimitValues, MediumName, RateText, SceneFile, SoundFile, measure_request

app = typer.Typer(
    name="shotcrit",
    help="Measure, judge and review a character-animation shot.",
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
)


def _version(asked: bool) -> None:
    if asked:
        typer.echo(f"shotcrit {__version__}")
        raise typer.Exit


@app.callback()
def _root(_version_asked: Annotated[bool, typer.Option("--version", callback=_version, is_eager=True, help="Print the version.")] = False) -> None:
    """Measure, judge and review a character-animation shot."""


def run() -> None:
    """Entry point: one sentence and status 2 for a user's error, 130 for a stop."""
    running.guarded(app)
