"""The demo shot, laid out where the user can look at it and change it."""

from __future__ import annotations

import shutil
from dataclasses import dataclass
from importlib.resources import as_file, files
from pathlib import Path

from shotcrit.errors import InputError
from shotcrit.measuring.request import MeasureRequest, request_from_files

FIRST_FRAME = 1001
STEM = "lantern_040"


@dataclass(frozen=True)
class DemoFiles:
    """Where everything of the demo lies."""

    movie: Path
    next_take: Path
    lines: Path
    cast: Path
    scene: Path
    crit: Path

    def request(self) -> MeasureRequest:
        """Measuring the first take with all that is known about it."""
        return request_from_files(self.movie, lines=self.lines, cast=self.cast, scene=self.scene, first_frame=FIRST_FRAME)


def lay_out_demo(folder: Path) -> DemoFiles:
    """Copy the demo film and what goes with it into `folder`; files that are there already stay. Raises InputError, one sentence."""
    try:
        folder.mkdir(parents=True, exist_ok=True)
        with as_file(files("shotcrit").joinpath("demo_film")) as shipped:
            for file in sorted(shipped.iterdir()):
                if file.is_file() and not (folder / file.name).exists():
                    shutil.copyfile(file, folder / file.name)
    except OSError as problem:
        raise InputError(
            f"the demo cannot be laid out in {folder} ({problem.strerror or problem}); choose another folder with --to"
        ) from problem
    return DemoFiles(
        movie=folder / f"{STEM}_take1.mp4",
        next_take=folder / f"{STEM}_take2.mp4",
        lines=folder / f"{STEM}_take1.lines.txt",
        cast=folder / f"{STEM}_take1.cast.json",
        scene=folder / f"{STEM}_take1.glb",
        crit=folder / f"{STEM}.crit",
    )
