"""Commands that are loaded when they are called for, so that `measure` does not wait for the room's server to load."""

from __future__ import annotations

from importlib import import_module
from typing import Any, NamedTuple

import typer
import typer.main
from typer.core import TyperGroup


class Named(NamedTuple):
    """Where a command's function lies, and what the list of commands says of it."""

    module: str
    function: str
    says: str


COMMANDS = {
    "open": Named("shotcrit.cli.rooming", "open_command", "Open the room on a movie or a crit."),
    "measure": Named("shotcrit.cli.measuring", "measure_command", "Measure a shot and print what was found."),
    "send": Named("shotcrit.cli.sending", "send_command", "Write what goes to the animator."),
    "follow": Named("shotcrit.cli.following", "follow_command", "Line a new take up with an old one."),
    "marks": Named("shotcrit.cli.marking", "marks_command", "Write placed marks as a table, or read them."),
    "bring": Named("shotcrit.cli.bringing", "bring_command", "Bring notes that were written elsewhere into a crit."),
    "demo": Named("shotcrit.cli.rooming", "demo_command", "Measure the demo shot and open the room on it."),
    "doctor": Named("shotcrit.cli.state", "doctor_command", "Say what is installed here and what is missing."),
}
"""The order is the one in which help shows them. Said here, so that a list of commands does not load them all."""


class LazyCommands(TyperGroup):
    """A group whose commands are made from COMMANDS one by one."""

    def list_commands(self, ctx: Any) -> list[str]:
        return list(COMMANDS)

    def format_commands(self, ctx: Any, formatter: Any) -> None:
        with formatter.section("Commands"):
            formatter.write_dl([(name, command.says) for name, command in COMMANDS.items()])

    def get_command(self, ctx: Any, cmd_name: str) -> Any:
        if cmd_name not in COMMANDS:
            return None
        module, function, _ = COMMANDS[cmd_name]
        one = typer.Typer(add_completion=False, rich_markup_mode=None, pretty_exceptions_enable=False)
        one.command(cmd_name)(getattr(import_module(module), function))
        return typer.main.get_command(one)
