"""A clip that other programs open, out and in: OpenTimelineIO's own JSON, one clip with a marker a note.

clip     available_range starts at the movie's time code   |---- 264 frames ----|
marker   in the clip's own time                                  |- note -|

Comment and frames of a marker are the note's `what` and its frames; the rest of the note stands in the marker's metadata under 'shotcrit'. A marker
that was moved or worded anew elsewhere comes back as it is there.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from fractions import Fraction
from typing import Any
from urllib.parse import quote

import opentimelineio as otio
from opentimelineio.opentime import RationalTime, TimeRange
from pydantic import ValidationError

from shotcrit.clock import rate_text
from shotcrit.clock.rates import snap_rate
from shotcrit.counted import counted
from shotcrit.deliver.crit_input import CritForDelivery, NoteForDelivery, headline
from shotcrit.deliver.exchange.counting import Counting
from shotcrit.deliver.exchange.format import Format, Made, counting, lost
from shotcrit.deliver.exchange.incoming import Incoming, Source, drawn, few_enough, note, same_rate, text_of
from shotcrit.deliver.exchange.notes_json import NoteOut, note_out
from shotcrit.errors import InputError

KEY = "shotcrit"
"""Of our part of the metadata; OpenTimelineIO asks each program to keep to a part of its own."""
COLOURS = {"must": otio.schema.MarkerColor.RED, "polish": otio.schema.MarkerColor.ORANGE, "keep": otio.schema.MarkerColor.GREEN}
DEEPEST = 200
"""Brackets within brackets of a file (guess: ours have a dozen)."""


def clip_otio(crit: CritForDelivery) -> Made:
    """One track and one clip: the take."""
    count = counting(crit)
    clip = _clip(crit, count)
    clip.markers.extend(_marker(number, one, count) for number, one in enumerate(crit.notes, start=1))
    track = otio.schema.Track(
        "take", kind=otio.schema.TrackKind.Video if crit.measured.readings.movie.width else otio.schema.TrackKind.Audio
    )
    track.append(clip)
    whole = otio.schema.Timeline(f"{crit.shot} {crit.take_label}".strip(), global_start_time=RationalTime(count.start, float(count.rate)))
    whole.tracks.append(track)
    text = otio.adapters.write_to_string(whole, "otio_json")
    return Made({"clip.otio": text.encode()}, lost(crit, "OpenTimelineIO", drawings=True, overall=True, times=False))


def _clip(crit: CritForDelivery, count: Counting) -> Any:
    whole = _range(count.start, len(count.clock), count)
    about = {
        "first_frame": count.first_frame, "rate": rate_text(count.rate), "drop_frame": count.drop, "timecode": count.timecode(0) or "",
        "overall": crit.overall, "begin": crit.one_thing or "", "unreleased": crit.unreleased,
    }  # fmt: skip
    media = otio.schema.ExternalReference(quote(crit.measured.readings.movie.path.name), whole)
    return otio.schema.Clip(crit.shot, media, whole, metadata={KEY: about})


def _range(start: int, frames: int, count: Counting) -> Any:
    return TimeRange(RationalTime(start, float(count.rate)), RationalTime(frames, float(count.rate)))


def _marker(number: int, one: NoteForDelivery, count: Counting) -> Any:
    told = note_out(one, count).model_dump(mode="json", by_alias=True)
    return otio.schema.Marker(
        headline(one),
        _range(count.start + one.first, len(one.span), count),
        COLOURS[one.weight],
        {KEY: {"number": number, "note": told}},
        one.what,
    )


def read_clip_otio(data: bytes, name: str, count: Counting) -> Incoming:
    """Notes of the markers on the one clip, on its track and on the whole. Raises InputError, one sentence."""
    whole = _parsed(text_of(data, name), name)
    clips = [whole] if isinstance(whole, otio.schema.Clip) else list(whole.find_clips()) if hasattr(whole, "find_clips") else []
    if len(clips) != 1:
        raise InputError(
            f"{name} holds {counted(len(clips), 'clip')}, so it cannot be told which is this take; save that one clip by itself"
        )
    found = list(_markers(whole, clips[0], name, count))
    few_enough(len(found), name)
    return Incoming(tuple(_note(marker, at, count, f"{name}, marker {number}") for number, (marker, at) in enumerate(found, start=1)))


def _parsed(text: str, name: str) -> Any:
    """What OpenTimelineIO makes of it; its parser is in C++ and is only given JSON that is sound and shallow."""
    sentence = f"{name} is no OpenTimelineIO file that can be read; save it from the other program again as .otio"
    try:
        shallow = _depth(json.loads(text)) <= DEEPEST
        if shallow:
            return otio.adapters.read_from_string(text, "otio_json")
    except Exception as problem:  # the parser raises whatever it trips over: value, type and its own errors
        raise InputError(sentence) from problem
    raise InputError(sentence)


def _depth(value: object) -> int:
    """How many brackets lie within each other, counted level by level."""
    level, deep = [value], 0
    while level and deep <= DEEPEST:
        level = [
            inner for outer in level for inner in (outer.values() if isinstance(outer, dict) else outer if isinstance(outer, list) else ())
        ]
        deep += 1
    return deep


def _markers(whole: Any, clip: Any, name: str, count: Counting) -> Iterator[tuple[Any, tuple[int, int]]]:
    """Each marker with its frame indices, first and last."""
    media = clip.media_reference.available_range if clip.media_reference is not None else None
    begins = (media or clip.source_range or TimeRange(RationalTime(0, float(count.rate)), RationalTime(0, float(count.rate)))).start_time
    owners = [clip, clip.parent(), whole.tracks if isinstance(whole, otio.schema.Timeline) else None]
    for owner in (one for one in owners if one is not None):
        for marker in owner.markers:
            found = marker.marked_range if owner is clip else owner.transformed_time_range(marker.marked_range, clip)
            first = _frames(found.start_time, count, name) - _frames(begins, count, name)
            yield marker, (first, first + max(1, _frames(found.duration, count, name)) - 1)


def _frames(time: Any, count: Counting, name: str) -> int:
    """A time as a number of frames. Raises InputError at another rate than the take's."""
    if not time.value:
        return 0
    same_rate(snap_rate(Fraction(time.rate).limit_denominator(2000)), count, name)
    return round(time.value)


def _note(marker: Any, at: tuple[int, int], count: Counting, where: str) -> NoteForDelivery:
    """The marker's own frames and words; of our metadata what it has no place for."""
    ours = _ours(marker)
    what = marker.comment or (ours.what if ours else "") or marker.name
    if ours is None:
        return note(*at, count, where, what=what)
    index = count.numbering.index
    moved = at[0] - index(ours.first)
    drawings = [drawn(index(d.first) + moved, index(d.last) + moved, d.strokes, count, where) for d in ours.drawings]
    return note(
        *at, count, where, what=what, why=ours.why, suggest=ours.suggest, weight=ours.weight, who=ours.who or "", id=ours.id,
        at=None if ours.still is None else index(ours.still) + moved, drawings=drawings,
    )  # fmt: skip


def _ours(marker: Any) -> NoteOut | None:
    part = marker.metadata.get(KEY)
    if not isinstance(part, Mapping) or "note" not in part:
        return None
    try:
        return NoteOut.model_validate_json(otio.core.serialize_json_to_string(part["note"]))
    except (ValidationError, ValueError, TypeError):
        return None


FORMAT = Format(
    "otio",
    "OpenTimelineIO",
    "The take as a clip, each note a marker, for editing and animation software.",
    "Time code of the first frame, frames as numbers at the rate (23.976 rounded as OpenTimelineIO does, exact beside it), the first frame in the clip's "
    "metadata, each note as a marker with its words, strokes and weight. One rate alone; no pictures.",
    clip_otio,
)
SOURCE = Source("OpenTimelineIO", (".otio",), "one clip; its markers, the track's and the whole's become notes", read_clip_otio)
