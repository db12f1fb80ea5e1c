"""The options that measure, send, open and follow share."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Annotated, get_args

import typer

from shotcrit.clock import parse_rate
from shotcrit.errors import InputError
from shotcrit.measuring.request import MeasureRequest, request_from_files
from shotcrit.readings.bundle import Medium as Made

Medium = Annotated[Path, typer.Argument(metavar="MOVIE|SOUND", help="A movie, a picture sequence (shot.####.png) or a sound.")]
LinesFile = Annotated[
    Path | None,
    typer.Option(
        "--lines", help="What is said: text (Name: words), a screenplay's page, WebVTT, SubRip, or a TextGrid with its own times."
    ),
]
CastFile = Annotated[Path | None, typer.Option("--cast", help="Characters, props, marks, looks and contacts (JSON).")]
MarksTable = Annotated[
    Path | None, typer.Option("--marks", help="Placed marks as a table (CSV), put into the cast, or a cast of their own.")
]
CharactersFolder = Annotated[
    Path | None, typer.Option("--characters", help="Folder in which what is learnt of characters is kept, and serves their next shot.")
]
SceneFile = Annotated[Path | None, typer.Option("--scene", help="The scene behind the picture: USD, glTF/GLB or BVH.")]
SoundFile = Annotated[Path | None, typer.Option("--sound", help="Sound for a picture sequence (WAV or FLAC).")]
RateText = Annotated[
    str | None, typer.Option("--rate", help="Frames per second: 24, 23.976, 24000/1001. Default: the movie's own, else 24.")
]
FirstFrame = Annotated[
    int | None,
    typer.Option(
        "--first-frame", help="The number shown for the first picture. Default: the number in its name for a run of pictures, else 1."
    ),
]
CastFrom = Annotated[
    int | None, typer.Option("--cast-from", help="The number that the cast counts the first picture by, where it is not the movie's.")
]
CountFrom = Annotated[
    int | None, typer.Option("--from", "--count-from", help="The first frame that counts; what lies before is shown and not judged.")
]
_LAST_HELP = "The last frame that counts; what lies after is shown and not judged."
CountTo = Annotated[int | None, typer.Option("--to", "--count-to", help=_LAST_HELP)]
CountToLong = Annotated[int | None, typer.Option("--count-to", help=_LAST_HELP)]
"""For a command whose --to is a folder."""
MEDIUM_HELP = "cg, drawn or blocking: a drawn shot may hold still, a stepped blocking pass stands and jumps."
MediumKind = Annotated[str, typer.Option("--medium", help=MEDIUM_HELP)]
LimitValues = Annotated[list[str] | None, typer.Option("--limit", help="Your own limit, as hold.ends=3; may be repeated.")]


MEDIA: tuple[Made, ...] = get_args(Made)
MOST_LIMIT = 1e9
"""No unit in use comes near it; nan and infinity fall out with it."""


def measure_request(
    movie: Path,
    *,
    lines: Path | None,
    cast: Path | None,
    scene: Path | None,
    sound: Path | None,
    rate: str | None,
    first_frame: int | None,
    medium: str,
    limit: Sequence[str] | None,
    marks: Path | None = None,
    characters: Path | None = None,
    cast_from: int | None = None,
    count_from: int | None = None,
    count_to: int | None = None,
) -> MeasureRequest:
    """The options as one request. Raises InputError for a medium, rate or limit that does not exist."""
    made = next((one for one in MEDIA if one == medium), None)
    if made is None:
        raise InputError(f"'{medium}' is no medium; say --medium {', '.join(MEDIA[:-1])} or {MEDIA[-1]}")
    return request_from_files(
        movie,
        lines=lines,
        cast=cast,
        scene=scene,
        sound=sound,
        rate=parse_rate(rate) if rate else None,
        first_frame=first_frame,
        cast_from=cast_from,
        count_from=count_from,
        count_to=count_to,
        medium=made,
        limits=dict(_limit(text) for text in limit or ()),
        marks=marks,
        characters=characters,
    )


def _limit(text: str) -> tuple[str, float]:
    name, _, value = text.partition("=")
    try:
        number = float(value)
    except ValueError as problem:
        raise InputError(f"'{text}' sets no limit; write it as hold.ends=3") from problem
    if not 0 <= number <= MOST_LIMIT:
        raise InputError(f"'{text}' sets no limit; a limit is a number from 0 up, as in hold.ends=3")
    return name.strip(), number


def require_folder(path: Path) -> None:
    """Raise InputError now rather than after long work when a file cannot be written there."""
    if not path.parent.is_dir():
        raise InputError(f"{path} cannot be written, its folder does not exist; make the folder first")
    if path.is_dir():
        raise InputError(f"{path} is a folder; name a file in it")
