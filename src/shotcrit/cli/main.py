"""The program's entry. The command itself runs in another process (app.py), so that its death on hostile media is told in a sentence.

Loads next to nothing: what stands here is waited for by everybody.
"""

from __future__ import annotations

import sys
from importlib import import_module

from shotcrit.elsewhere.command import Command

OUR_ERROR = 70
"""As in run.py."""
SIGNALLED = 128
"""Added to a signal's number, the shells' convention."""


def run() -> None:
    """Run the command and leave as it did."""
    command = Command("shotcrit.cli.app", sys.argv[1:])
    status = command.run()
    if 0 <= status <= 255:
        sys.exit(status)
    if -status in command.asked:
        sys.exit(SIGNALLED - status)
    # Loaded only now that somebody died.
    problem = import_module("shotcrit.elsewhere.death").died(command.pid, status, "the command")
    print(f"shotcrit: {problem}.", file=sys.stderr)
    sys.exit(OUR_ERROR)


if __name__ == "__main__":
    run()
