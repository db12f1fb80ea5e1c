"""What is otherwise between two takes as wholes, in sentences: what was survived is named."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from shotcrit.clock import Numbering, Span
from shotcrit.clock.rates import rate_label
from shotcrit.counted import counted
from shotcrit.media import MovieInfo
from shotcrit.takes.carry import CarriedCast
from shotcrit.takes.change import ChangeMap
from shotcrit.takes.frame_map import FrameMap, Stretch
from shotcrit.takes.seen import Sight

TOLD = 6
"""Doubtful marks that are told by name (guess: what fits a paragraph)."""
SAME_SOUND = 0.3
"""Part of the frames whose sound must be found again for the sound to count as the same; a shot is often silent for half of its length (guess)."""


def remarks_of(old: MovieInfo, new: MovieInfo, lined_up: FrameMap, changes: ChangeMap | None) -> tuple[str, ...]:
    """Sentences, the most important first."""
    return (*_sound(old, new, lined_up), *_time(old, new, lined_up), *_picture(old, new, lined_up.sight, changes))


def _sound(old: MovieInfo, new: MovieInfo, lined_up: FrameMap) -> Iterator[str]:
    if (old.sound is None) != (new.sound is None):
        yield f"Only the {'old' if old.sound else 'new'} take has sound; the takes are lined up by picture."
    elif old.sound is not None and lined_up.by_sound < SAME_SOUND:
        some = "Hardly any" if lined_up.by_sound > 0 else "None"
        yield f"{some} of the old sound is found in the new take; the takes are lined up by picture."


def _time(old: MovieInfo, new: MovieInfo, lined_up: FrameMap) -> Iterator[str]:
    if old.rate != new.rate:
        yield f"The old take runs at {rate_label(old.rate)} frames a second, the new one at {rate_label(new.rate)}."
    if old.first_frame != new.first_frame:
        yield f"The old take counts from {old.first_frame}, the new one from {new.first_frame}; each is told in its own numbers."
    was, now = Numbering(old.first_frame), Numbering(new.first_frame)
    for stretch in lined_up.stretches:
        said = stretch_says(stretch, was, now, len(lined_up.new_of), len(lined_up.old_of))
        if said:
            yield said


def stretch_says(stretch: Stretch, was: Numbering, now: Numbering, old_frames: int, new_frames: int) -> str:
    """'1161 to 1172 run at 0.5 times their speed, as 1161 to 1184.'; '' for what runs as it did."""
    old, new = stretch.old, stretch.new
    if stretch.kind == "gone" and old:
        where = " at the head" if old.start == 0 else " at the tail" if old.stop == old_frames else ""
        return f"{was.text(old)} of the old take {'is' if len(old) == 1 else 'are'} gone{where}."
    if stretch.kind == "inserted" and new:
        if new.start == 0:
            return f"{counted(len(new), 'frame')} {_stand(new)} before the old take begins, such as a slate: {now.text(new)}."
        where = " after the old take's end" if new.stop == new_frames else ""
        return f"{now.text(new)} of the new take {'is' if len(new) == 1 else 'are'} new{where}."
    if stretch.kind == "held" and old and new:
        return f"The picture holds over {now.text(new)} of the new take, at {was.shown(old.start)} of the old."
    if stretch.kind in ("slower", "faster") and old and new:
        return f"{was.text(old)} run at {stretch.speed:.2f} times their speed, as {now.text(new)}."
    return ""


def cast_remarks(carried: CarriedCast, now: Numbering) -> tuple[str, ...]:
    """That the marks came from the old take, and which of them a person has to confirm or place again."""
    if not carried.marks:
        return ()
    sure = sum(mark.sure for mark in carried.marks)
    said = [
        f"{counted(sure, 'mark')} of the old take's {len(carried.marks)} {'is' if sure == 1 else 'are'} found again by {'its' if sure == 1 else 'their'} looks."
    ]
    doubtful: dict[str, list[int]] = {}
    for mark in carried.unsure:
        frames = doubtful.setdefault(f"{mark.who}'s {mark.mark.replace('_', ' ')}", [])
        if mark.new is not None:
            frames.append(now.index(mark.new.frame))
    if doubtful:
        each = "; ".join(f"{name}{' at ' + now.listed(sorted(frames)) if frames else ''}" for name, frames in list(doubtful.items())[:TOLD])
        more = f"; and {counted(len(doubtful) - TOLD, 'more mark')}" if len(doubtful) > TOLD else ""
        said.append(f"To be placed or confirmed on the new take: {each}{more}.")
    return tuple(said)


def _stand(span: Span) -> str:
    return "stands" if len(span) == 1 else "stand"


def _picture(old: MovieInfo, new: MovieInfo, sight: Sight | None, changes: ChangeMap | None) -> Iterator[str]:
    if (old.width, old.height) != (new.width, new.height):
        yield f"The old picture is {old.width} x {old.height}, the new one {new.width} x {new.height}."
    if sight is not None and sight.reframed:
        closer = float(np.sqrt(sight.framing[0, 0] * sight.framing[1, 1]))
        how = f"{abs(1 - closer):.0%} {'closer' if closer < 1 else 'wider'}" if abs(1 - closer) > 0.01 else "shifted"
        yield f"The new take is framed otherwise ({how}); pictures are compared where both show the same."
    if sight is not None and sight.graded:
        yield "The new take is graded otherwise; that is left out of what is said to have changed."
    if changes is not None and changes.painted.any():
        y, x = np.nonzero(changes.painted)
        high, wide = changes.painted.shape
        row = "top" if y.mean() < high / 3 else "bottom" if y.mean() > 2 * high / 3 else "middle"
        column = "left" if x.mean() < wide / 3 else "right" if x.mean() > 2 * wide / 3 else "middle"
        yield f"Something lies over the picture throughout, {row} {column}, such as a counter; it is left out."
