"""The worker of a room on this computer."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from shotcrit.checks.measured import Measured
from shotcrit.crit.records import Take
from shotcrit.crit.review import Review
from shotcrit.measuring.characters import Learnt, Lesson, forget, lessons_of
from shotcrit.measuring.kept import kept_measured
from shotcrit.measuring.lined_takes import LinedUp, line_takes_up
from shotcrit.measuring.measure import Workbench, measure
from shotcrit.measuring.request import MeasureRequest
from shotcrit.measuring.review import REVIEW_DELIVERIES, Sent, send_review
from shotcrit.measuring.take import take_request
from shotcrit.progress import Progress
from shotcrit.room.local_pictures import LocalPictures
from shotcrit.room.worker import DeliveryKind, Telling


@dataclass(frozen=True)
class LocalWorker(LocalPictures):
    """Pictures as LocalPictures has them, and measuring and sending besides.

    characters : folder where what is learnt of characters is kept from shot to shot; None = nowhere
    """

    characters: Path | None = None

    def pictures(self) -> LocalPictures:
        return LocalPictures(self.cache)

    def remembered(self, take: Take, limits: Mapping[str, float]) -> Measured | None:
        return kept_measured(self.kept().medium(take.sha256), self._request(take, limits), take.sha256)

    def measure(self, take: Take, limits: Mapping[str, float], around: Callable[[], int], progress: Progress) -> Measured:
        tell = progress.tell if isinstance(progress, Telling) else None
        bench = Workbench(cache=self.kept(), progress=progress, around=around, proxy=True, tell=tell)
        return measure(self._request(take, limits), bench, movie=self.movie(take))

    def _request(self, take: Take, limits: Mapping[str, float]) -> MeasureRequest:
        request = take_request(take, limits)
        return request if self.characters is None else replace(request, learnt=Learnt(self.characters, Path(take.path).stem))

    def lessons(self, take: Take) -> Sequence[Lesson]:
        names = [person.name for person in take.cast.characters] if self.characters else []
        return [lesson for who in names if self.characters for lesson in lessons_of(self.characters, who)]

    def forget(self, who: str, sha256: str | None) -> int:
        return forget(self.characters, who, sha256) if self.characters else 0

    def line_up(self, old: Take, new: Take, progress: Progress) -> LinedUp:
        return line_takes_up(old, new, self.movie(old), self.movie(new), Workbench(cache=self.kept(), progress=progress))

    def deliveries(self) -> Sequence[DeliveryKind]:
        return [DeliveryKind(d.kind, d.name, d.help, d.reader) for d in REVIEW_DELIVERIES]

    def send(self, review: Review, measured: Measured | None, kinds: Sequence[str], to: Path, progress: Progress) -> Sent:
        known = measured or self.measure(review.take, {}, lambda: 0, progress)
        return send_review(review, known, self.movie(review.take), kinds, to, cache=self.kept(), progress=progress)
