"""What is known of characters, learnt from this take and from other shots."""

from __future__ import annotations

from shotcrit.measuring.characters import Lesson
from shotcrit.room.cast.shapes import Forgotten, LessonHere
from shotcrit.room.measured.service import Measurements
from shotcrit.room.takes.service import Takes
from shotcrit.room.worker import Worker


class Lessons:
    def __init__(self, takes: Takes, measurements: Measurements, worker: Worker) -> None:
        self._takes = takes
        self._measurements = measurements
        self._worker = worker

    def listed(self, take_id: str) -> list[LessonHere]:
        take = self._takes.get(take_id)
        found = list(self._worker.lessons(take))
        own = {lesson.who: lesson.taught_by for lesson in found if lesson.sha256 == take.sha256}
        worth_saying = (lesson for lesson in found if lesson.mouths or lesson.eyes or lesson.sha256 == take.sha256)
        return [_here(lesson, own=lesson.sha256 == take.sha256, serves=lesson.sha256 in own.get(lesson.who, ())) for lesson in worth_saying]

    def forget(self, take_id: str, who: str, movie: str | None) -> Forgotten:
        """What was forgotten serves no more: the take is measured again. movie: of this one alone."""
        take = self._takes.get(take_id)
        count = self._worker.forget(who, movie)
        if count and any(part.marks for part in take.cast.characters if part.name == who):
            self._measurements.forget(take_id)
            self._measurements.order(take_id)
        return Forgotten(who=who, count=count)


def _here(lesson: Lesson, *, own: bool, serves: bool) -> LessonHere:
    return LessonHere(
        who=lesson.who,
        shot=lesson.shot,
        movie=lesson.sha256,
        when=lesson.when,
        mouths=lesson.mouths,
        eyes=list(lesson.eyes),
        own=own,
        serves=serves,
    )
