"""Door one: each command is one call of the desk."""

from __future__ import annotations

from typing import Annotated

import typer

from shotcrit import __version__
from shotcrit.cli.measuring import measure_command, send_command
from shotcrit.cli.rooming import demo_command, open_command
from shotcrit.cli.run import guarded
from shotcrit.cli.state import doctor_command

app = typer.Typer(
    name="shotcrit",
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


app.command("open")(open_command)
app.command("measure")(measure_command)
app.command("send")(send_command)
app.command("demo")(demo_command)
app.command("doctor")(doctor_command)


def run() -> None:
    """Entry point: one sentence and status 2 for a user's error, 130 for a stop."""
    guarded(app)


if __name__ == "__main__":
    run()
