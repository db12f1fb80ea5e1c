"""Shotcrit: measure, judge and review a character-animation shot.

    import shotcrit
    shot = shotcrit.measure("shot.mov", lines="lines.txt")

What else there is stands in shotcrit.library, once; it is loaded when it is first asked for, since measuring needs seconds of imports.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from shotcrit.library import *  # noqa: F403 - for type checkers and editors, which do not run __getattr__

__version__ = "0.1.0"
_LIBRARY = "shotcrit.library"


def __getattr__(name: str) -> Any:
    if name.startswith("_") and name != "__all__":
        raise AttributeError(f"module 'shotcrit' has no attribute '{name}'")
    library = import_module(_LIBRARY)
    if name != "__all__" and name not in library.__all__:
        raise AttributeError(f"module 'shotcrit' has no attribute '{name}'; it has {', '.join(library.__all__)}")
    return getattr(library, name)


def __dir__() -> list[str]:
    return sorted({"__version__", *import_module(_LIBRARY).__all__})
