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
