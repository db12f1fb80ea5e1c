"""`send`."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from shotcrit.cli import options
from shotcrit.cli.run import messages
from shotcrit.cli.watch import watched
from shotcrit.measuring.deliveries import DELIVERIES, chosen, send_measured
from shotcrit.measuring.measure import Workbench, measure, open_medium
from shotcrit.measuring.review import REVIEW_DELIVERIES, Reader
from shotcrit.measuring.send_crit import send_crit
from shotcrit.store.person import habits_file, own_line, read_habits


def _kinds(reader: Reader) -> str:
    return ", ".join(d.kind for d in REVIEW_DELIVERIES if d.reader == reader)


ONLY_HELP = (
    f"One delivery; may be repeated. Of a movie: {', '.join(d.name for d in DELIVERIES)}. "
    f"Of a crit: {_kinds('animator')}; for other programs: {_kinds('program')}; for colleagues: {_kinds('colleague')}."
)


def send_command(
    what: Annotated[Path, typer.Argument(metavar="CRIT|MOVIE", help="A crit, or a movie to measure and send what was found.")],
    to: Annotated[Path, typer.Option("--to", help="The folder to write into; made if it is not there.")],
    only: Annotated[list[str] | None, typer.Option("--only", help=ONLY_HELP)] = None,
    take: Annotated[int | None, typer.Option("--take", min=1, help="Which take of a crit; the newest if not said.")] = None,
    lines: options.LinesFile = None,
    cast: options.CastFile = None,
    marks: options.MarksTable = None,
    scene: options.SceneFile = None,
    sound: options.SoundFile = None,
    rate: options.RateText = None,
    first_frame: options.FirstFrame = None,
    cast_from: options.CastFrom = None,
    count_from: options.CountFrom = None,
    count_to: options.CountToLong = None,
    medium: options.MediumKind = "cg",
    limit: options.LimitValues = None,
    characters: options.CharactersFolder = None,
) -> None:
    """Of a crit, write what goes to the animator: only what was taken. Of a movie, all that was found, for yourself and colleagues. Or what --only names."""
    if what.suffix.lower() == ".crit":
        with watched(messages) as bars:
            sent = send_crit(what, to, kinds=only or (), number=take, bench=Workbench(progress=bars))
        for path in sent.files:
            typer.echo(path)
        for sentence in sent.lost:
            messages.print(sentence, markup=False, soft_wrap=True)
        return
    chosen(only)
    request = options.measure_request(
        what, lines=lines, cast=cast, scene=scene, sound=sound, rate=rate, first_frame=first_frame, medium=medium, limit=limit,
        marks=marks, characters=characters, cast_from=cast_from, count_from=count_from, count_to=count_to,
    )  # fmt: skip
    with watched(messages) as bars:
        bench = Workbench(progress=bars)
        opened = open_medium(request, bars)
        measured = measure(request, bench, movie=opened)
        line = own_line(read_habits(habits_file()))
        made = send_measured(measured, opened, to, names=only, cache=bench.cache, progress=bars, unreleased=line)
    for path in made:
        typer.echo(path)
