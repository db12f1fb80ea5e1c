"""Everything that can be sent from a measurement alone, by name."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

from shotcrit.checks.measured import Measured
from shotcrit.crit.unreleased import LINE
from shotcrit.deliver.exchange.track_textgrid import need_sound
from shotcrit.deliver.file_name import file_name
from shotcrit.deliver.findings_pdf import write_findings_pdf
from shotcrit.deliver.measure_json import write_measure_json
from shotcrit.deliver.page import write_page
from shotcrit.deliver.sheet_pdf import write_sheet_pdf
from shotcrit.errors import InputError
from shotcrit.media import Movie
from shotcrit.media.picture_files import plain_stem
from shotcrit.media.proxy import PROXY_VERSION, proxy_of, still
from shotcrit.progress import Progress
from shotcrit.readings.sound.textgrid import write_textgrid
from shotcrit.store.cache import Cache

Still = Callable[[int, int], bytes]


@dataclass(frozen=True)
class Delivery:
    """One way to send: its name, what it ends a file name with, a line of help. write is given the line about unreleased pictures last."""

    name: str
    ending: str
    help: str
    write: Callable[[Measured, Path, Still | None, str], None]
    needs_sound: bool = False


def _json(measured: Measured, path: Path, _still: Still | None, _line: str) -> None:
    write_measure_json(measured, path)


def _textgrid(measured: Measured, path: Path, _still: Still | None, _line: str) -> None:
    heard, begins, length = need_sound(measured.readings)
    write_textgrid(path, heard, length, offset_s=begins)


DELIVERIES = (
    Delivery(
        "sheet",
        "sheet.pdf",
        "The exposure sheet with the track reading, to pin on a wall.",
        lambda m, p, s, u: write_sheet_pdf(m, p, still=s, unreleased=u),
    ),
    Delivery(
        "page",
        "page.html",
        "Findings with stills and the sheet, one file that works offline.",
        lambda m, p, s, u: write_page(m, p, still=s, unreleased=u),
    ),
    Delivery(
        "findings",
        "findings.pdf",
        "The findings with a still of each, to print.",
        lambda m, p, s, u: write_findings_pdf(m, p, still=s, unreleased=u),
    ),
    Delivery("json", "measure.json", "The measurement for other programs.", _json),
    Delivery("textgrid", "track.TextGrid", "Words, phones and breaths for a phonetics program.", _textgrid, needs_sound=True),
)


def chosen(names: Sequence[str] | None) -> tuple[Delivery, ...]:
    """The deliveries named, or all. Raises InputError for a name that is none."""
    known = {delivery.name: delivery for delivery in DELIVERIES}
    for name in names or ():
        if name not in known:
            raise InputError(f"'{name}' is no delivery; there are {', '.join(known)}")
    return tuple(known[name] for name in names) if names else DELIVERIES


def send_measured(
    measured: Measured, movie: Movie, folder: Path, *, names: Sequence[str] | None, cache: Cache, progress: Progress, unreleased: str = LINE
) -> list[Path]:
    """Write deliveries into `folder` as NAME-sheet.pdf and so on; each whole or not at all. Returns the files."""
    wanted = [d for d in chosen(names) if names or measured.readings.movie.sound is not None or not d.needs_sound]
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as problem:
        raise InputError(f"{folder} cannot be made ({problem.strerror or problem}); name a folder that you may write to") from problem
    picture = still_of(movie, cache) if movie.info.width else None
    made = []
    for count, delivery in enumerate(wanted):
        progress.step("writing what is sent", count, len(wanted))
        path = folder / f"{file_name(plain_stem(movie.info.name))}-{delivery.ending}"
        delivery.write(measured, path, picture, unreleased)
        made.append(path)
    progress.step("writing what is sent", len(wanted), len(wanted))
    return made


def still_of(movie: Movie, cache: Cache) -> Still:
    """Pictures for deliveries: from the proxy where it is wide enough and made, else from the movie."""
    proxy = proxy_of(movie, cache.medium(movie.info.sha256).files("proxy", PROXY_VERSION))

    def picture(index: int, width: int) -> bytes:
        made = proxy.read(index) if width <= proxy.width else None
        if made is not None:
            return made
        return still(movie, index, width=min(width, movie.info.width or width))

    return picture
