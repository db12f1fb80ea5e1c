"""Commands that are loaded when they are called for, so that `measure` does not wait for the room's server to load."""

from __future__ import annotations

from importlib import import_module
from typing import Any

import typer
import typer.main
from typer.core import TyperGroup

COMMANDS = {
    "open": ("shotcrit.cli.rooming", "open_command"),
    "measure": ("shotcrit.cli.measuring", "measure_command"),
    "send": ("shotcrit.cli.sending", "send_command"),
    "follow": ("shotcrit.cli.following", "follow_command"),
    "marks": ("shotcrit.cli.marking", "marks_command"),
    "demo": ("shotcrit.cli.rooming", "demo_command"),
    "doctor": ("shotcrit.cli.state", "doctor_command"),
}
"""Command -> where its function lies. The order is the one in which help shows them."""


class LazyCommands(TyperGroup):
    """A group whose commands are made from COMMANDS one by one."""

    def list_commands(self, ctx: Any) -> list[str]:
        return list(COMMANDS)

    def get_command(self, ctx: Any, cmd_name: str) -> Any:
        if cmd_name not in COMMANDS:
            return None
        module, function = COMMANDS[cmd_name]
        one = typer.Typer(add_completion=False, rich_markup_mode=None, pretty_exceptions_enable=False)
        one.command(cmd_name)(getattr(import_module(module), function))
        return typer.main.get_command(one)
