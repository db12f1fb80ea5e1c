"""Counting a take's frames from another number: its cast speaks of shown frames, so it moves along."""

from __future__ import annotations

from typing import Any

from shotcrit.crit.records import Take
from shotcrit.errors import InputError
from shotcrit.readings.cast import Cast, Contact, LookAt, Marked, SceneCamera


def recounted(take: Take, first_frame: int) -> dict[str, Any]:
    """The JSON fields of a take that change when its first frame gets another number."""
    if first_frame == take.first_frame:
        return {}
    moved = shifted(take.cast, first_frame - take.first_frame)
    return {"first_frame": first_frame, "cast": moved.model_dump(mode="json")}


def counts_of(take: Take, count_from: int | None, count_to: int | None) -> dict[str, int] | None:
    """The JSON of a take's counted frames, from shown ones; None when all count. Raises InputError when none would."""
    first = 0 if count_from is None else max(0, count_from - take.first_frame)
    last = take.frames - 1 if count_to is None else min(take.frames - 1, count_to - take.first_frame)
    if first > last:
        shown = f"{take.first_frame} to {take.first_frame + take.frames - 1}"
        raise InputError(f"the take has the frames {shown}, and none of them would count; name frames inside it, the earlier first")
    return None if (first, last) == (0, take.frames - 1) else {"first": first, "last": last}


def shifted(cast: Cast, by: int) -> Cast:
    """The same cast, every shown frame in it `by` later. Looks over the whole shot stay so."""
    return cast.model_copy(
        update={
            "characters": tuple(_marks(c, by) for c in cast.characters),
            "props": tuple(_marks(p, by) for p in cast.props),
            "contacts": tuple(_range(c, by) for c in cast.contacts),
            "looks": tuple(_range(look, by) for look in cast.looks),
            "cameras": tuple(_range(c, by) for c in cast.cameras),
            "faces": tuple(f.model_copy(update={"frame": f.frame + by}) for f in cast.faces),
        }
    )


USUAL_STARTS = (1, 1001, 101, 0)
"""First frames in use, likeliest first (common practice, no source)."""


def counted_otherwise(cast: Cast, *, first_frame: int, frames: int) -> int | None:
    """The number that the cast seems to count the first picture by, where it is not `first_frame`; None where nothing tells.

    Told only where all its frames lie outside of the movie's, and another usual start puts them all inside.
    """
    spoken_of = frames_of(cast)
    inside = range(first_frame, first_frame + frames)
    if not spoken_of or any(frame in inside for frame in spoken_of):
        return None
    first, last = min(spoken_of), max(spoken_of)
    starts = sorted(USUAL_STARTS, key=lambda start: start != first)
    return next((s for s in starts if s != first_frame and first - s + first_frame in inside and last - s + first_frame in inside), None)


def frames_of(cast: Cast) -> list[int]:
    """Every shown frame that a cast speaks of."""
    placed = [place.frame for owner in cast.marked for places in owner.marks.values() for place in places]
    placed += [face.frame for face in cast.faces]
    ranges: list[Contact | LookAt | SceneCamera] = [*cast.contacts, *cast.looks, *cast.cameras]
    return placed + [frame for part in ranges for frame in (part.first, part.last) if frame is not None]


def _marks(owner: Marked, by: int) -> Marked:
    marks = {name: tuple(p.model_copy(update={"frame": p.frame + by}) for p in points) for name, points in owner.marks.items()}
    return owner.model_copy(update={"marks": marks})


def _range(part: Contact | LookAt | SceneCamera, by: int) -> Contact | LookAt | SceneCamera:
    ends = {"first": part.first, "last": part.last}
    return part.model_copy(update={name: None if frame is None else frame + by for name, frame in ends.items()})
