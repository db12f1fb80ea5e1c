"""`open` and `demo`: the room on one computer."""

from __future__ import annotations

import os
import webbrowser
from pathlib import Path
from typing import Annotated

import typer

from shotcrit.cli import options
from shotcrit.cli.run import messages
from shotcrit.cli.watch import watched
from shotcrit.errors import InputError
from shotcrit.measuring.deliveries import send_measured
from shotcrit.measuring.demo import lay_out_demo
from shotcrit.measuring.measure import Workbench, measure, open_medium
from shotcrit.measuring.request import MeasureRequest, said_text
from shotcrit.media import MovieInfo
from shotcrit.room.opening import add_movie, crit_beside, known_take
from shotcrit.room.serve import Serving, prepare
from shotcrit.store.last_opened import note_opened, opened_last
from shotcrit.store.person import habits_file, own_line, read_habits

NO_BROWSER = "NO_BROWSER"
"""Environment: when set, the address is printed and no browser is opened."""

Port = Annotated[int, typer.Option("--port", min=0, max=65535, help="Port of the room; 0 takes any free one.")]
CritName = Annotated[Path | None, typer.Option("--crit", help="The crit that the movie goes into; beside the movie if not said.")]


def open_command(
    what: Annotated[
        Path | None, typer.Argument(metavar="MOVIE|CRIT", help="A movie, or a crit that was begun; left out, what was opened last.")
    ] = None,
    lines: options.LinesFile = None,
    cast: options.CastFile = None,
    scene: options.SceneFile = None,
    rate: options.RateText = None,
    first_frame: Annotated[
        int | None,
        typer.Option(
            "--first-frame", help="The number shown for the first picture. Default: as the crit has it, else a run's own number, else 1."
        ),
    ] = None,
    cast_from: options.CastFrom = None,
    count_from: options.CountFrom = None,
    count_to: options.CountTo = None,
    medium: Annotated[str | None, typer.Option("--medium", help=f"{options.MEDIUM_HELP} Default: as the crit has it, else cg.")] = None,
    crit: CritName = None,
    shot: Annotated[
        str | None,
        typer.Option(
            "--shot",
            help="The shot that this is a take of, by name; a new name begins one. Default: the only one, else the one named like the movie.",
        ),
    ] = None,
    port: Port = 0,
) -> None:
    """Open the room on a movie or on a crit, or on what was opened last; a movie that the crit does not have is its next take."""
    what = what or opened_last(habits_file())
    if what.suffix.lower() == ".crit":
        if not what.exists():
            raise InputError(f"{what} does not exist; give a crit that was begun, or a movie to begin one")
        show(prepare(what, habits=habits_file(), port=port), what)
        return
    request = options.measure_request(
        what,
        lines=lines,
        cast=cast,
        scene=scene,
        sound=None,
        rate=rate,
        first_frame=first_frame,
        medium=medium or "cg",
        limit=None,
        cast_from=cast_from,
        count_from=count_from,
        count_to=count_to,
    )
    said, at = None if lines is None else said_text(lines), crit or crit_beside(what)
    movie: MovieInfo | str | None = known_take(at, what) if rate is None else None
    if movie is None:
        with watched(messages) as bars:
            movie = open_medium(request, bars).info
    serving = prepare(at, habits=habits_file(), port=port)
    add_movie(
        serving.room.crit, movie, lines=said, cast=request.cast, scene=scene, medium=medium, first_frame=first_frame, cast_from=cast_from,
        count_from=count_from, count_to=count_to, shot=shot,
    )  # fmt: skip
    show(serving, at)


def demo_command(
    to: Annotated[Path, typer.Option("--to", help="Where the demo shot, its crit and what is sent are laid out.")] = Path("shotcrit-demo"),
    port: Port = 0,
) -> None:
    """Measure the demo shot, write everything that can be sent, and open the room on it."""
    files = lay_out_demo(to)
    request: MeasureRequest = files.request()
    with watched(messages) as bars:
        bench = Workbench(progress=bars)
        movie = open_medium(request, bars)
        measured = measure(request, bench, movie=movie)
        made = send_measured(
            measured, movie, to / "sent", names=None, cache=bench.cache, progress=bars, unreleased=own_line(read_habits(habits_file()))
        )
    typer.echo(f"measured {movie.info.name}: {len(measured.findings)} findings")
    for path in made:
        typer.echo(f"sent {path}")
    serving = prepare(files.crit, habits=habits_file(), port=port)
    add_movie(
        serving.room.crit, movie.info, lines=files.lines.read_text(encoding="utf-8"), cast=request.cast, scene=files.scene, medium="cg"
    )
    show(serving, files.crit)


def show(serving: Serving, crit: Path) -> None:
    """Print the room's address, open a browser on it unless told not to, and serve until Ctrl-C."""
    note_opened(habits_file(), crit)
    typer.echo(f"the room is open at {serving.address}")
    typer.echo("Ctrl-C closes it; everything is saved as it is made")
    if not os.environ.get(NO_BROWSER):
        webbrowser.open(serving.address_for_browser())
    serving.run()
