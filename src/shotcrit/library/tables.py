"""Data frames by whichever library is installed; neither is needed for anything else."""

from __future__ import annotations

from collections.abc import Mapping
from importlib import import_module
from importlib.util import find_spec
from typing import Any

from shotcrit.errors import InputError, MissingExtra

LIBRARIES = ("pandas", "polars")


def frame_of(columns: Mapping[str, Any], library: str | None = None) -> Any:
    """A pandas or polars DataFrame of columns of one length. Raises MissingExtra where the one wanted, or any, is not installed."""
    if library is not None and library not in LIBRARIES:
        raise InputError(f"'{library}' makes no frames here; say pandas or polars")
    wanted = (library,) if library else LIBRARIES
    found = next((name for name in wanted if find_spec(name)), None)
    if found is None:
        raise MissingExtra(f"a data frame needs {' or '.join(wanted)}; install it with: pip install {wanted[0]}")
    return import_module(found).DataFrame(dict(columns))
