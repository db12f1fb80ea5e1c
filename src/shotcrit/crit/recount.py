"""Counting a take's frames from another number: its cast speaks of shown frames, so it moves along."""

from __future__ import annotations

from typing import Any

from shotcrit.crit.records import Take
from shotcrit.readings.cast import Cast, Contact, LookAt, Marked, SceneCamera


def recounted(take: Take, first_frame: int) -> dict[str, Any]:
    """The JSON fields of a take that change when its first frame gets another number."""
    if first_frame == take.first_frame:
        return {}
    moved = shifted(take.cast, first_frame - take.first_frame)
    return {"first_frame": first_frame, "cast": moved.model_dump(mode="json")}


def shifted(cast: Cast, by: int) -> Cast:
    """The same cast, every shown frame in it `by` later. Looks over the whole shot stay so."""
    return cast.model_copy(
        update={
            "characters": tuple(_marks(c, by) for c in cast.characters),
            "props": tuple(_marks(p, by) for p in cast.props),
            "contacts": tuple(_range(c, by) for c in cast.contacts),
            "looks": tuple(_range(look, by) for look in cast.looks),
            "cameras": tuple(_range(c, by) for c in cast.cameras),
        }
    )


def _marks(owner: Marked, by: int) -> Marked:
    marks = {name: tuple(p.model_copy(update={"frame": p.frame + by}) for p in points) for name, points in owner.marks.items()}
    return owner.model_copy(update={"marks": marks})


def _range(part: Contact | LookAt | SceneCamera, by: int) -> Contact | LookAt | SceneCamera:
    ends = {"first": part.first, "last": part.last}
    return part.model_copy(update={name: None if frame is None else frame + by for name, frame in ends.items()})
