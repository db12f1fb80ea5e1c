"""Door one: each command is one call of the desk."""

from __future__ import annotations

from typing import Annotated

import typer

from shotcrit import __version__
from shotcrit.cli.lazy import LazyCommands
from shotcrit.cli.run import guarded
from shotcrit.elsewhere.commanded import be_command

app = typer.Typer(
    name="shotcrit",
    cls=LazyCommands,
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
    context_settings={"help_option_names": ["-h", "--help"]},
)


def _version(asked: bool) -> None:
    if asked:
        typer.echo(f"shotcrit {__version__}")
        raise typer.Exit


@app.callback()
def root(
    version: Annotated[bool, typer.Option("--version", callback=_version, is_eager=True, help="Print the version.")] = False,
) -> None:
    """Measure, judge and review a character-animation shot."""


def run() -> None:
    """The command, in the process that main.py starts for it: one sentence and status 2 for a user's error, 70 for ours, 130 for a stop."""
    be_command()
    guarded(app)


if __name__ == "__main__":
    run()
