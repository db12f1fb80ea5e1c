"""What of a cast comes along to the next take: who is in it at once; what hangs on frames when the takes are lined up."""

from __future__ import annotations

from typing import TypeVar

from shotcrit.readings.cast import Cast, Marked

M = TypeVar("M", bound=Marked)


def without_frames(cast: Cast) -> Cast:
    """Who and what is in it, and looks that hold over the whole shot; no mark, no stretch of frames."""
    return Cast(
        characters=tuple(_bare(person) for person in cast.characters),
        props=tuple(_bare(prop) for prop in cast.props),
        looks=tuple(look for look in cast.looks if look.first is None and look.last is None and isinstance(look.at, str)),
        metres_per_unit=cast.metres_per_unit,
    )


def _bare(part: M) -> M:
    return part.model_copy(update={"marks": {}})


def together(placed: Cast, carried: Cast) -> Cast:
    """A take's cast with what was carried to it; what was placed or said there already stands."""
    return placed.model_copy(
        update={
            "characters": _with_marks(placed.characters, carried.characters),
            "props": _with_marks(placed.props, carried.props),
            "looks": (*placed.looks, *(look for look in carried.looks if look not in placed.looks and isinstance(look.at, str))),
            "contacts": (*placed.contacts, *(contact for contact in carried.contacts if contact not in placed.contacts)),
        }
    )


def _with_marks(own: tuple[M, ...], carried: tuple[M, ...]) -> tuple[M, ...]:
    """Each with the marks of its namesake that it has not; and those that are carried alone."""
    others = {part.name: part for part in carried}
    both = [part.model_copy(update={"marks": {**others[part.name].marks, **part.marks}}) if part.name in others else part for part in own]
    names = {part.name for part in own}
    return (*both, *(part for part in carried if part.name not in names))
