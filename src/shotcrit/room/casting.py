"""The cast in the room: characters and props, contacts, marks as a table; what follows anew when marks change; what is known of characters."""

from __future__ import annotations

import threading
from collections.abc import Callable, Sequence
from contextlib import suppress

from starlette.concurrency import run_in_threadpool

from shotcrit.crit.edits import Clash
from shotcrit.crit.things import Take
from shotcrit.errors import InputError, ShotcritError
from shotcrit.readings.cast import Cast, Character, Contact, LookAt, Marked, Prop
from shotcrit.readings.marks_csv import cast_to_csv, parse_marks_csv
from shotcrit.room.judging import Judging
from shotcrit.room.shapes.casting import ContactsPut, Forgotten, LessonHere, MarksRead, NewPart, PartName
from shotcrit.room.shapes.common import Job, ThingName
from shotcrit.room.shapes.events import MeasuredEvent
from shotcrit.room.shapes.measured import Followed
from shotcrit.room.sheet import followed

SETTLE_S = 0.8
"""Seconds without a further change before marks are followed: quick clicks are followed together (guess)."""
MOST_TABLE = 16 * 2**20
"""Bytes of a table of marks that is read: forty marks on every frame of two minutes take 8 MB."""


class Casting(Judging):
    _waiting: dict[str, threading.Timer]
    _halted: set[str]

    def close(self) -> None:
        with self._memory:
            for timer in self._timers().values():
                timer.cancel()
        super().close()

    # What a changed cast sets going

    def forget(self, changed: Sequence[ThingName]) -> None:
        """A take whose marks changed, here or in another window, or by undo, is followed again once the hand rests."""
        super().forget(changed)
        with self._memory:
            for take_id in {thing.id for thing in changed if thing.kind == "take"}:
                self._rest(take_id)
                self._halted.discard(take_id)
                timer = self._timers()[take_id] = threading.Timer(SETTLE_S, self._follow_up, (take_id,))
                timer.daemon = True
                timer.start()

    def _timers(self) -> dict[str, threading.Timer]:
        if not hasattr(self, "_waiting"):
            self._waiting, self._halted = {}, set()
        return self._waiting

    def _rest(self, take_id: str) -> None:
        waiting = self._timers().pop(take_id, None)
        if waiting is not None:
            waiting.cancel()

    def stop_job(self, job_id: str) -> Job:
        """Stop a job, and what took its place or was about to: a reviewer who says stop means it, until the next edit."""
        job = self.jobs.get(job_id)
        with self._memory:
            self._rest(job.take)
            self._halted.add(job.take)
            heir = self.jobs.running(job.kind, job.take)
        if heir is not None and heir.id != job_id:
            self.jobs.stop(heir.id)
        return self.jobs.stop(job_id)

    def _follow_up(self, take_id: str) -> None:
        # The room may close while a timer runs; there is nobody to be told then.
        with suppress(ShotcritError):
            self._follow_now(take_id)

    def _follow_now(self, take_id: str) -> None:
        take = self.take(take_id)
        running = self.jobs.running("measure", take_id)
        if running is not None and self.as_ordered(take):
            return
        known = self.measured(take)
        if running is not None:
            self.jobs.stop(running.id)
            self.jobs.join(running.id)
        old = (known.readings.cast if known else None) or Cast()
        if running or (known is not None and _followed_from(old) != _followed_from(take.cast)):
            with self._memory:
                if take_id not in self._halted:
                    self.measure(take_id)
        elif known is not None and old != take.cast:
            self.events.post(MeasuredEvent(take=take_id))

    def following(self, take_id: str) -> Followed:
        take = self.take(take_id)
        with self._memory:
            return followed(take, self.memory.following.get(take_id, ()))

    # Characters and props

    def add_part(self, take_id: str, body: NewPart, who: str) -> Take:
        name = _named(body.name)

        def change(take: Take) -> Cast:
            if body.kind == "character":
                return take.cast.model_copy(update={"characters": (*take.cast.characters, Character(name=name))})
            return take.cast.model_copy(update={"props": (*take.cast.props, Prop(name=name))})

        return self._recast(take_id, who, f"add {name}", change)

    def rename_part(self, take_id: str, old: str, body: PartName, who: str) -> Take:
        new = _named(body.name)
        return self._recast(take_id, who, f"rename {old}", lambda take: _renamed(_holding(take.cast, old), old, new))

    def remove_part(self, take_id: str, name: str, who: str) -> Take:
        return self._recast(take_id, who, f"take {name} out of the cast", lambda take: _without(_holding(take.cast, name), name))

    def put_contacts(self, take_id: str, body: ContactsPut, who: str) -> Take:
        def change(take: Take) -> Cast:
            if tuple(body.was) != take.cast.contacts:
                raise Clash("take", take.id, take)
            return take.cast.model_copy(update={"contacts": tuple(body.now)})

        return self._recast(take_id, who, "say what must not slide", change)

    # Marks as a table

    def marks_table(self, take_id: str, *, followed: bool) -> tuple[str, str]:
        """(a file's name, the table). followed: the frames between, too."""
        take = self.take(take_id)
        measured = self.measured(take) if followed else None
        text = cast_to_csv(take.cast, measured.readings.acting if measured else (), first_frame=take.first_frame)
        return f"{take.label or 'take'}-{take.number}-marks.csv".replace(" ", "_"), text

    async def read_marks(self, take_id: str, data: bytes, who: str) -> MarksRead:
        return await run_in_threadpool(self._read_marks, take_id, data, who)

    def _read_marks(self, take_id: str, data: bytes, who: str) -> MarksRead:
        if len(data) > MOST_TABLE:
            raise InputError(f"the table is over {MOST_TABLE >> 20} MB, which no table of marks needs; give the CSV that was exported")
        try:
            text = data.decode("utf-8-sig")
        except UnicodeDecodeError as problem:
            raise InputError("the table is not UTF-8 text; save it as CSV in UTF-8") from problem
        counts: list[int] = []

        def change(take: Take) -> Cast:
            cast = parse_marks_csv(text, take.cast, name="the table")
            counts[:] = [_placed(cast) - _placed(take.cast)]
            return cast

        take = self._recast(take_id, who, "read marks from a table", change)
        return MarksRead(take=take, says=f"{_placed(take.cast)} placed marks, {counts[0]} of them new")

    # What is known of characters

    def lessons(self, take_id: str) -> list[LessonHere]:
        take = self.take(take_id)
        found = list(self.desk.lessons(take))
        own = {lesson.who: lesson.taught_by for lesson in found if lesson.sha256 == take.sha256}
        return [
            LessonHere(
                who=lesson.who, shot=lesson.shot, movie=lesson.sha256, when=lesson.when, mouths=lesson.mouths, eyes=list(lesson.eyes),
                own=lesson.sha256 == take.sha256, serves=lesson.sha256 in own.get(lesson.who, ()),
            )
            for lesson in found if lesson.mouths or lesson.eyes or lesson.sha256 == take.sha256
        ]  # fmt: skip

    def forget_lessons(self, take_id: str, who: str, movie: str | None) -> Forgotten:
        """What was forgotten serves no more: the take is measured again."""
        take = self.take(take_id)
        count = self.desk.forget(who, movie)
        if count and any(part.marks for part in take.cast.characters if part.name == who):
            with self._memory:
                self.memory.measured.pop(take_id, None)
                self.memory.orders.pop(take_id, None)
            self.measure(take_id)
        return Forgotten(who=who, count=count)


def _named(name: str) -> str:
    plain = " ".join(name.split())
    if not plain or plain == "camera" or "." in plain:
        raise InputError("a name in the cast has letters, no full stop, and is not 'camera'; choose another one")
    return plain


def _followed_from(cast: Cast) -> Cast:
    """What of a cast decides how marks are followed: all but looks and contacts."""
    return cast.model_copy(update={"looks": (), "contacts": ()})


def _placed(cast: Cast) -> int:
    return sum(len(spots) for part in cast.marked for spots in part.marks.values())


def _holding(cast: Cast, name: str) -> Cast:
    if not any(part.name == name for part in cast.marked):
        raise InputError(f"'{name}' is not in the cast; look at it as it is now")
    return cast


def _without(cast: Cast, name: str) -> Cast:
    """The cast without a character or prop, and without the looks and contacts that name it."""

    def meant(reference: object) -> bool:
        return isinstance(reference, str) and reference.partition(".")[0] == name

    return cast.model_copy(
        update={
            "characters": tuple(c for c in cast.characters if c.name != name),
            "props": tuple(p for p in cast.props if p.name != name),
            "contacts": tuple(c for c in cast.contacts if not (meant(c.a) or meant(c.b))),
            "looks": tuple(k for k in cast.looks if k.who != name and not meant(k.at)),
        }
    )


def _renamed(cast: Cast, old: str, new: str) -> Cast:
    """The cast with a new name in every place where the old one stood."""

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

    each: dict[str, Callable[..., object]] = {"characters": part, "props": part, "contacts": contact, "looks": look}
    return cast.model_copy(update={name: tuple(map(change, getattr(cast, name))) for name, change in each.items()})
