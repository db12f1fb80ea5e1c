"""How right Shotcrit is on material that nobody here made: `python -m bench.strangers DIR`.

DIR holds `clips/` for the film part, `motion/` with BVH files for that of motion, and folders of speech.
None of the material is ours or committed; a part without material prints nothing.
"""

from __future__ import annotations

import argparse
from importlib import import_module
from importlib.util import find_spec
from pathlib import Path

PARTS = ("bench.strangers_film", "bench.strangers_outlines", "bench.strangers_speech", "bench.strangers_motion")
"""Each with `report(folder) -> str`: its tables as Markdown, '' without material."""


def main() -> None:
    """Print every part's tables."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("folder", type=Path, metavar="DIR", help="where the material was put")
    folder: Path = parser.parse_args().folder
    if not folder.is_dir():
        parser.error(f"{folder} is no folder; put the material there first")
    for name in PARTS:
        if find_spec(name) is not None:
            print(import_module(name).report(folder), flush=True)


if __name__ == "__main__":
    main()
