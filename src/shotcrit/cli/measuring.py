"""`measure`. It loads what measuring needs and nothing else: no store, no templates, no typesetting."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Annotated

import typer
from rich.console import Console

from shotcrit.cli import options
from shotcrit.cli.run import messages
from shotcrit.cli.watch import watched
from shotcrit.deliver.measure_json import write_measure_json
from shotcrit.deliver.table import measure_table
from shotcrit.measuring.measure import Workbench, measure

JsonTarget = Annotated[
    str | None, typer.Option("--json", metavar="F|-", help="Write the measurement as JSON to a file, or to standard output with -.")
]


def measure_command(
    movie: options.Medium,
    lines: options.LinesFile = None,
    cast: options.CastFile = None,
    marks: options.MarksTable = None,
    scene: options.SceneFile = None,
    sound: options.SoundFile = None,
    rate: options.RateText = None,
    first_frame: options.FirstFrame = None,
    cast_from: options.CastFrom = None,
    count_from: options.CountFrom = None,
    count_to: options.CountTo = None,
    medium: options.MediumKind = "cg",
    limit: options.LimitValues = None,
    characters: options.CharactersFolder = None,
    json: JsonTarget = None,
) -> None:
    """Measure a shot and print what was found."""
    request = options.measure_request(
        movie, lines=lines, cast=cast, scene=scene, sound=sound, rate=rate, first_frame=first_frame, medium=medium, limit=limit,
        marks=marks, characters=characters, cast_from=cast_from, count_from=count_from, count_to=count_to,
    )  # fmt: skip
    if json not in (None, "-"):
        options.require_folder(Path(str(json)))
    with watched(messages) as bars:
        measured = measure(request, Workbench(progress=bars))
    if json == "-":
        write_measure_json(measured, sys.stdout)
        return
    if json is not None:
        write_measure_json(measured, Path(json))
    Console(highlight=False).print(measure_table(measured))
