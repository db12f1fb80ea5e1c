"""How an older take lies in a newer one, as the page draws it."""

from __future__ import annotations

from shotcrit.clock import Numbering, Span
from shotcrit.crit.records import Take
from shotcrit.measuring.lined_takes import LinedUp
from shotcrit.room.takes.shapes import LinedStretch, LinedTake
from shotcrit.takes.frame_map import Stretch
from shotcrit.takes.remarks import stretch_says
from shotcrit.takes.seen import framing_in_parts


def lined_take(old: Take, new: Take, lined_up: LinedUp) -> LinedTake:
    sight = lined_up.map.sight
    return LinedTake(
        take=old.id,
        number=old.number,
        old_of=[None if frame < 0 else int(frame) for frame in lined_up.map.old_of],
        sure=[round(min(float(sure), 0.99), 2) for sure in lined_up.map.confidence],
        stretches=_stretches(old, new, lined_up),
        framing=framing_in_parts(sight) if sight is not None and sight.reframed else None,
    )


def _stretches(old: Take, new: Take, lined_up: LinedUp) -> list[LinedStretch]:
    was, now = Numbering(old.first_frame), Numbering(new.first_frame)
    found, at = [], 0
    for stretch in lined_up.map.stretches:
        says = stretch_says(stretch, was, now, old.frames, new.frames)
        found.append(_stretch(stretch, at if stretch.new is None else stretch.new.start, says))
        at = at if stretch.new is None else stretch.new.stop
    return found


def _stretch(stretch: Stretch, at: int, says: str) -> LinedStretch:
    first, last = _ends(stretch.new)
    old_first, old_last = _ends(stretch.old)
    return LinedStretch(kind=stretch.kind, first=first, last=last, old_first=old_first, old_last=old_last, at=at, says=says)


def _ends(span: Span | None) -> tuple[int | None, int | None]:
    return (None, None) if span is None else (span.start, span.last)
