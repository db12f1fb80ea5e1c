"""How a command ends: 0 done, 2 with one sentence for a user's error, 70 for an error of ours, 130 for a stop. Never a traceback."""

from __future__ import annotations

import os
import sys

import typer
from rich.console import Console

from shotcrit.errors import ShotcritError, Stopped
from shotcrit.unforeseen import unforeseen

BAD_INPUT = 2
OUR_ERROR = 70
"""EX_SOFTWARE of sysexits.h (BSD, 1980): an error within the program."""
STOPPED = 130
"""128 + SIGINT, the shells' convention."""

messages = Console(stderr=True, highlight=False)
"""Messages and progress; standard output is left to results."""


def one_sentence(text: str) -> str:
    """Text of an error on one line, ending in a full stop."""
    line = " ".join(text.split())
    return line if line.endswith((".", "!", "?")) else f"{line}."


def guarded(app: typer.Typer) -> None:
    """Run the app and leave with the right status."""
    try:
        app(prog_name="shotcrit")
    except ShotcritError as problem:
        messages.print(f"shotcrit: {one_sentence(str(problem))}", markup=False, soft_wrap=True)
        sys.exit(BAD_INPUT)
    except (Stopped, KeyboardInterrupt, typer.Abort):
        messages.print(
            "shotcrit: stopped; what was finished is kept, and the same command goes on from there.", markup=False, soft_wrap=True
        )
        sys.exit(STOPPED)
    except BrokenPipeError:
        # The reader of our output has gone (| head): no error. Keep Python from complaining at exit.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        sys.exit(0)
    except Exception as problem:
        messages.print(f"shotcrit: {one_sentence(str(unforeseen(problem)))}", markup=False, soft_wrap=True)
        sys.exit(OUR_ERROR)
