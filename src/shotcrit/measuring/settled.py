"""What a request leaves to the medium, settled once the medium is open: how frames are counted, the cast counted alike, and which frames count."""

from __future__ import annotations

from dataclasses import replace

from shotcrit.clock import Numbering, Span
from shotcrit.crit.recount import shifted
from shotcrit.errors import InputError
from shotcrit.measuring.request import MeasureRequest
from shotcrit.media.info import MovieInfo


def settled(request: MeasureRequest, info: MovieInfo) -> MeasureRequest:
    """The request with its first frame known and its cast counted as the medium is. Settling twice changes nothing."""
    cast = request.cast
    if cast is not None and request.cast_from is not None:
        cast = shifted(cast, info.first_frame - request.cast_from)
    return replace(request, first_frame=info.first_frame, cast=cast, cast_from=None)


def _between(first: int | None, last: int | None) -> str:
    return " ".join(f"{word} {frame}" for word, frame in (("from", first), ("to", last)) if frame is not None)


def counted_frames(request: MeasureRequest, info: MovieInfo) -> Span | None:
    """The frames that are judged, as indices; None for all. Raises InputError, one sentence, where none of the medium's would be."""
    first, last = info.first_frame, info.first_frame + info.frames - 1
    begin = first if request.count_from is None else max(first, request.count_from)
    end = last if request.count_to is None else min(last, request.count_to)
    if begin > end:
        raise InputError(
            f"{info.path} has the frames {first} to {last}, so that {_between(request.count_from, request.count_to)} none counts; "
            "name frames inside it"
        )
    number = Numbering(first)
    return None if (begin, end) == (first, last) else Span(number.index(begin), number.index(end) + 1)
