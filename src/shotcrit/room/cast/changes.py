"""Changes of a cast: each takes a cast and answers with the changed one. Pure."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

from shotcrit.crit.edits import Clash
from shotcrit.crit.records import Take
from shotcrit.errors import InputError
from shotcrit.readings.cast import Cast, Character, Contact, FaceOf, LookAt, Marked, Placed, Prop, parse_cast


def sound(cast: Cast) -> Cast:
    """The cast, read again as a cast file would be. Raises InputError where it is not one."""
    return parse_cast(cast.model_dump(mode="json"), name="the cast")


def with_part(cast: Cast, name: str, kind: str) -> Cast:
    if kind == "character":
        return cast.model_copy(update={"characters": (*cast.characters, Character(name=name))})
    return cast.model_copy(update={"props": (*cast.props, Prop(name=name))})


def without_part(cast: Cast, name: str) -> Cast:
    """The cast without a character or prop, and without the looks and contacts that name it."""
    _require(cast, name)

    def meant(reference: object) -> bool:
        return isinstance(reference, str) and reference.partition(".")[0] == name

    return cast.model_copy(
        update={
            "characters": tuple(c for c in cast.characters if c.name != name),
            "props": tuple(p for p in cast.props if p.name != name),
            "contacts": tuple(c for c in cast.contacts if not (meant(c.a) or meant(c.b))),
            "looks": tuple(k for k in cast.looks if k.who != name and not meant(k.at)),
            "faces": tuple(f for f in cast.faces if f.who != name),
        }
    )


def renamed(cast: Cast, old: str, new: str) -> Cast:
    """The cast with a new name in every place where the old one stood."""
    _require(cast, old)

    def part(marked: Marked) -> Marked:
        return marked.model_copy(update={"name": new}) if marked.name == old else marked

    def meant(reference: str) -> str:
        head, dot, mark = reference.partition(".")
        return f"{new}{dot}{mark}" if head == old else reference

    def contact(one: Contact) -> Contact:
        return one.model_copy(update={"a": meant(one.a), "b": meant(one.b)})

    def look(one: LookAt) -> LookAt:
        at = meant(one.at) if isinstance(one.at, str) else one.at
        return one.model_copy(update={"who": new if one.who == old else one.who, "at": at})

    def face(one: FaceOf) -> FaceOf:
        return one.model_copy(update={"who": new}) if one.who == old else one

    each: dict[str, Callable[..., object]] = {"characters": part, "props": part, "contacts": contact, "looks": look, "faces": face}
    return cast.model_copy(update={name: tuple(map(change, getattr(cast, name))) for name, change in each.items()})


def with_mark(take: Take, name: str, mark: str, was: Sequence[Placed], now: Sequence[Placed]) -> Cast:
    """The take's cast with one mark's placed points. Raises Clash when the mark is not as `was` says, InputError for nobody's mark."""
    owner = next((m for m in take.cast.marked if m.name == name), None)
    if owner is None:
        raise InputError(f"'{name}' is not in the cast; add the character or prop first")
    if tuple(was) != owner.marks.get(mark, ()):
        raise Clash("take", take.id, take)
    marks = {**owner.marks, mark: tuple(now)}
    if not now:
        del marks[mark]
    changed = owner.model_copy(update={"marks": marks})
    characters = tuple(changed if t is owner else t for t in take.cast.characters)
    props = tuple(changed if t is owner else t for t in take.cast.props)
    return take.cast.model_copy(update={"characters": characters, "props": props})


def with_looks(take: Take, was: Sequence[LookAt], now: Sequence[LookAt]) -> Cast:
    """Raises Clash when the take's looks are not as `was` says."""
    if tuple(was) != take.cast.looks:
        raise Clash("take", take.id, take)
    return take.cast.model_copy(update={"looks": tuple(now)})


def with_contacts(take: Take, was: Sequence[Contact], now: Sequence[Contact]) -> Cast:
    """Raises Clash when the take's contacts are not as `was` says."""
    if tuple(was) != take.cast.contacts:
        raise Clash("take", take.id, take)
    return take.cast.model_copy(update={"contacts": tuple(now)})


def with_faces(cast: Cast, said: Sequence[FaceOf]) -> Cast:
    """The cast with what a person says of found faces; a later word on the same point goes before an earlier one."""
    points = {(one.frame, one.x, one.y) for one in said}
    return cast.model_copy(update={"faces": (*(f for f in cast.faces if (f.frame, f.x, f.y) not in points), *said)})


def with_confirmed(cast: Cast, who: str, marks: Mapping[str, Sequence[Placed]]) -> Cast:
    """The cast with the proposed marks of a found face as placed ones of `who`, who is added where missing. What a person placed on a frame stays."""
    if cast.character(who) is None:
        cast = with_part(cast, who, "character")

    def confirmed(person: Character) -> Character:
        own = dict(person.marks)
        for name, spots in marks.items():
            before = own.get(name, ())
            taken = {spot.frame for spot in before}
            own[name] = tuple(sorted((*before, *(s for s in spots if s.frame not in taken)), key=lambda spot: spot.frame))
        return person.model_copy(update={"marks": own})

    return cast.model_copy(update={"characters": tuple(confirmed(c) if c.name == who else c for c in cast.characters)})


def followed_from(cast: Cast) -> Cast:
    """What of a cast decides how marks are followed: all but looks and contacts."""
    return cast.model_copy(update={"looks": (), "contacts": ()})


def placed_count(cast: Cast) -> int:
    """How many marks a person placed."""
    return sum(len(spots) for part in cast.marked for spots in part.marks.values())


def _require(cast: Cast, name: str) -> None:
    if not any(part.name == name for part in cast.marked):
        raise InputError(f"'{name}' is not in the cast; look at it as it is now")
