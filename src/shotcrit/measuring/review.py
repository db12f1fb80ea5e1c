"""A review made ready to be sent: notes with their stills, drawings, and the noted frames with their sound."""

from __future__ import annotations

import io
import wave
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Literal

import cv2
import numpy as np

from shotcrit.checks.measured import Measured
from shotcrit.clock import Span
from shotcrit.counted import quantity
from shotcrit.crit.records import Note
from shotcrit.crit.review import Review, for_animator
from shotcrit.deliver.atomic import write_whole
from shotcrit.deliver.crit_input import CritForDelivery, Drawn, NoteForDelivery, Snippet
from shotcrit.deliver.crit_page import crit_page
from shotcrit.deliver.crit_pdf import crit_pdf
from shotcrit.deliver.crit_sheet_pdf import crit_sheet_pdf
from shotcrit.deliver.exchange.format import Format, Made
from shotcrit.deliver.exchange.formats import FORMATS
from shotcrit.deliver.file_name import file_name
from shotcrit.deliver.measure_json import measure_text
from shotcrit.errors import InputError
from shotcrit.measuring.deliveries import Still, still_of
from shotcrit.media import Movie, Sound
from shotcrit.media.proxy_sound import downmix
from shotcrit.progress import Progress
from shotcrit.store.cache import Cache

Reader = Literal["animator", "colleague", "program"]
STILL_WIDTH = 1280
"""Pixels; as wide as the room's pictures."""
PLAY_WIDTH = 640
"""Pixels of the pictures that the page plays (guess: a note's frames at this size take a megabyte or two)."""
PLAY_QUALITY = 70
MOST_PLAYED = 96
"""Frames a note's snippet holds at most, four seconds at 24; a longer note plays its beginning."""
FULL_SCALE = 32767


@dataclass(frozen=True)
class Sent:
    """files : what was written; lost : one sentence each on what a format could not hold"""

    files: tuple[Path, ...] = ()
    lost: tuple[str, ...] = ()


Make = Callable[[CritForDelivery, Still | None], Made]
"""Makes the files, in memory. Raises InputError, one sentence, where the shot lacks what they would be made of."""


@dataclass(frozen=True)
class ReviewDelivery:
    """One way of sending a review. reader: an animator and other programs get only what was taken; a colleague all that was measured.

    pictures : it shows stills, or plays the noted frames
    """

    kind: str
    name: str
    help: str
    make: Make
    reader: Reader = "animator"
    pictures: bool = True


def _exchanged(form: Format) -> ReviewDelivery:
    """A format of other programs."""

    def made(crit: CritForDelivery, _still: Still | None) -> Made:
        crit.require_sound()
        return form.make(crit)

    return ReviewDelivery(form.kind, form.name, form.help, made, "program", form.pictures)


REVIEW_DELIVERIES = (
    ReviewDelivery("page", "page", "One page that works offline: plays the noted frames, takes the animator's answers.",
                   lambda c, _s: Made({"crit.html": crit_page(c).encode("utf-8", "replace")})),
    ReviewDelivery("pdf", "PDF", "The notes with their stills and drawings, and the sheet, to print.", lambda c, _s: Made({"crit.pdf": crit_pdf(c)})),
    ReviewDelivery("sheet", "sheet", "The exposure sheet with the track reading and the notes, to pin on a wall.",
                   lambda c, s: Made({"sheet.pdf": crit_sheet_pdf(c, still=s)})),
    *map(_exchanged, FORMATS),
    ReviewDelivery("json", "measurement", "For colleagues: all that was measured, findings that were not taken among it, for other programs.",
                   lambda c, _s: Made({"measure.json": measure_text(c.measured).encode("utf-8", "replace")}), "colleague", False),
)  # fmt: skip


def wanted_deliveries(kinds: Sequence[str]) -> list[ReviewDelivery]:
    """The deliveries named; where none is named, those that go to an animator. Raises InputError for a name that is none."""
    known = {d.kind: d for d in REVIEW_DELIVERIES}
    unknown = [kind for kind in kinds if kind not in known]
    if unknown:
        raise InputError(f"'{unknown[0]}' is no way to send a crit; there are {', '.join(known)}")
    return [known[kind] for kind in kinds] or [d for d in REVIEW_DELIVERIES if d.reader == "animator"]


def send_review(
    review: Review, measured: Measured, movie: Movie, kinds: Sequence[str], to: Path, *, cache: Cache, progress: Progress
) -> Sent:
    """Write deliveries of a review (those for an animator when `kinds` is empty) into `to`: all of them, or none. Raises InputError, one sentence."""
    wanted = wanted_deliveries(kinds)
    try:
        to.mkdir(parents=True, exist_ok=True)
    except OSError as problem:
        raise InputError(f"{to} cannot be made ({problem.strerror or problem}); name a folder that you may write to") from problem
    still = still_of(movie, cache) if movie.info.width else None
    crit = crit_for_delivery(review, measured, movie, still if any(d.pictures for d in wanted) else None, progress)
    taken = replace(crit, measured=for_animator(measured, review))
    files: dict[Path, bytes] = {}
    lost: list[str] = []
    for count, delivery in enumerate(wanted):
        progress.step("writing what is sent", count, len(wanted))
        made = delivery.make(crit if delivery.reader == "colleague" else taken, still)
        files |= {to / f"{_file_name(review)}-{ending}": data for ending, data in made.files.items()}
        lost += made.lost
    _write(files)
    progress.step("writing what is sent", len(wanted), len(wanted))
    return Sent(tuple(files), tuple(dict.fromkeys(lost)))


def _write(files: Mapping[Path, bytes]) -> None:
    """Where one cannot be written, those that were are taken away again."""
    done: list[Path] = []
    try:
        for path, data in files.items():
            write_whole(path, data)
            done.append(path)
    except InputError:
        for path in done:
            path.unlink(missing_ok=True)
        raise


def _file_name(review: Review) -> str:
    """'lantern_040-take2': nothing in it that a file system minds."""
    return f"{file_name(review.shot.name)}-take{review.take.number}"


def crit_for_delivery(review: Review, measured: Measured, movie: Movie, still: Still | None, progress: Progress) -> CritForDelivery:
    """Gather pictures, sound and drawings of every note."""
    sound = movie.sound() if still else None
    notes = []
    for count, note in enumerate(review.notes):
        progress.step("gathering the notes", count, len(review.notes))
        notes.append(_note(review, note, movie, still, sound))
    cuts = measured.readings.picture.cuts if measured.readings.picture else ()
    return CritForDelivery(
        crit=review.crit_id,
        take=review.take.id,
        shot=review.shot.name,
        take_label=review.take.label or f"take {review.take.number}",
        measured=measured,
        overall=review.take.overall,
        one_thing=review.one_thing.id if review.one_thing else None,
        notes=tuple(notes),
        animator=review.take.animator,
        reviewer=review.reviewer,
        unreleased=review.unreleased,
        shot_stills={frame: still(frame, STILL_WIDTH) for frame in (0, *cuts)} if still else {},
    )


def _note(review: Review, note: Note, movie: Movie, still: Still | None, sound: Sound | None) -> NoteForDelivery:
    last = min(note.last, len(movie.clock) - 1)
    drawings = [review.drawings[name] for name in note.drawings if name in review.drawings]
    at = note.still if note.still is not None else drawings[0].first if drawings else note.first
    return NoteForDelivery(
        id=note.id,
        first=note.first,
        last=last,
        weight=note.weight,
        what=note.what,
        why=note.why,
        suggest=note.suggest,
        who=note.who,
        value=quantity(note.numbers.value, note.numbers.unit) if note.numbers else "",
        drawings=tuple(Drawn(d.first, d.last, d.strokes) for d in drawings),
        at=at,
        still=still(min(at, len(movie.clock) - 1), STILL_WIDTH) if still else None,
        snippet=_snippet(Span(note.first, min(last, note.first + MOST_PLAYED - 1) + 1), movie, still, sound),
    )


def _snippet(span: Span, movie: Movie, still: Still | None, sound: Sound | None) -> Snippet | None:
    if still is None:
        return None
    return Snippet(span.start, tuple(_small(still(frame, STILL_WIDTH)) for frame in span), _wav(span, movie, sound))


def _small(jpeg: bytes) -> bytes:
    picture = cv2.imdecode(np.frombuffer(jpeg, np.uint8), cv2.IMREAD_COLOR)
    if picture is None or picture.shape[1] <= PLAY_WIDTH:
        return jpeg
    high = round(picture.shape[0] * PLAY_WIDTH / picture.shape[1])
    done, data = cv2.imencode(
        ".jpg", cv2.resize(picture, (PLAY_WIDTH, high), interpolation=cv2.INTER_AREA), [cv2.IMWRITE_JPEG_QUALITY, PLAY_QUALITY]
    )
    return bytes(data.tobytes()) if done else jpeg


def _wav(span: Span, movie: Movie, sound: Sound | None) -> bytes | None:
    """The sound of exactly these frames as 16-bit WAV; silence where the sound has none."""
    if sound is None:
        return None
    first = round(float(movie.clock.start(span.start) - sound.offset_s) * sound.rate)
    length = round(float(movie.clock.stop(span.last) - movie.clock.start(span.start)) * sound.rate)
    mixed = downmix(sound.samples[max(0, first) : max(0, first + length)])
    out = np.zeros((length, mixed.shape[1] if mixed.ndim == 2 else 1), np.float32)
    lead = max(0, -first)
    out[lead : lead + len(mixed)] = mixed.reshape(len(mixed), -1)[: length - lead]
    packed = io.BytesIO()
    with wave.open(packed, "wb") as file:
        file.setnchannels(out.shape[1])
        file.setsampwidth(2)
        file.setframerate(sound.rate)
        file.writeframes((np.clip(out, -1, 1) * FULL_SCALE).astype("<i2").tobytes())
    return packed.getvalue()
