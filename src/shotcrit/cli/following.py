"""`follow`. It only tells: no crit is written."""

from __future__ import annotations

import sys
from dataclasses import replace
from pathlib import Path
from typing import Annotated

import typer
from rich.console import Console

from shotcrit.cli import options
from shotcrit.cli.run import messages
from shotcrit.cli.watch import watched
from shotcrit.deliver.follow_json import write_follow_json
from shotcrit.deliver.follow_page import write_follow_page
from shotcrit.deliver.follow_table import follow_table
from shotcrit.measuring.follow import OldTake, follow_takes, followed_stills, like_the_old, old_take
from shotcrit.measuring.measure import Workbench
from shotcrit.measuring.request import request_from_files
from shotcrit.media.picture_files import is_sequence

OldArgument = Annotated[Path, typer.Argument(metavar="OLD", help="The old take: its crit, or a movie.")]
NewArgument = Annotated[Path, typer.Argument(metavar="NEW", help="The new take: a movie, a picture sequence or a sound.")]
OldLines = Annotated[Path | None, typer.Option("--old-lines", help="What is said in the old movie, where it is not what --lines says.")]
OldCast = Annotated[Path | None, typer.Option("--old-cast", help="The cast of the old movie; a crit has its own.")]
OldScene = Annotated[Path | None, typer.Option("--old-scene", help="The scene behind the old movie; a crit has its own.")]
JsonTarget = Annotated[
    str | None, typer.Option("--json", metavar="F|-", help="Write the answer as JSON to a file, or to standard output with -.")
]
PageTarget = Annotated[
    Path | None, typer.Option("--page", metavar="F", help="Write a page (HTML) with a still of both takes for each verdict.")
]


def follow_command(
    old: OldArgument,
    new: NewArgument,
    take: Annotated[int | None, typer.Option("--take", min=1, help="Which take of a crit is the old one; the newest if not said.")] = None,
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
    old_lines: OldLines = None,
    old_cast: OldCast = None,
    old_scene: OldScene = None,
    json: JsonTarget = None,
    page: PageTarget = None,
) -> None:
    """Line a new take up with an old one, and tell what became of all that was found and asked. Nothing is closed, and no crit is written."""
    asked = options.measure_request(
        new, lines=lines, cast=cast, scene=scene, sound=sound, rate=rate, first_frame=first_frame, medium=medium, limit=limit,
        marks=marks, characters=characters, cast_from=cast_from, count_from=count_from, count_to=count_to,
    )  # fmt: skip
    if old.suffix.lower() == ".crit":
        was = old_take(old, take)
        asked = like_the_old(asked, was.request)
    else:
        first = request_from_files(
            old, lines=old_lines or lines, cast=old_cast, scene=old_scene, first_frame=first_frame, medium=asked.medium, limits=asked.limits
        )
        was = OldTake(replace(first, rate=asked.rate) if is_sequence(old) else first)
    for target in (None if json in (None, "-") else Path(str(json)), page):
        if target is not None:
            options.require_folder(target)
    with watched(messages) as bars:
        bench = Workbench(progress=bars)
        followed = follow_takes(was, asked, bench)
        if page is not None:
            write_follow_page(followed, page, stills=followed_stills(was.request, asked, bench))
    if json == "-":
        write_follow_json(followed, sys.stdout)
        return
    if json is not None:
        write_follow_json(followed, Path(json))
    Console(highlight=False).print(follow_table(followed))
