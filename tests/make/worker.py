"""A worker with a known measurement: pictures come from a real film, what was measured on it is written down in make/measured.py."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from shotcrit.checks.measured import Measured
from shotcrit.crit.records import Take
from shotcrit.crit.review import Review
from shotcrit.errors import InputError
from shotcrit.measuring.characters import Lesson
from shotcrit.measuring.lined_takes import LinedUp
from shotcrit.measuring.review import Sent
from shotcrit.progress import Progress
from shotcrit.room.local_pictures import LocalPictures
from shotcrit.room.worker import DeliveryKind
from tests.make.lined import later_by
from tests.make.measured import measured


@dataclass(frozen=True)
class MadeWorker(LocalPictures):
    """known : whether the measurement is there from the start, or has to be made first; broken : what measuring fails with
    later : frames by which everything lies later on a further take

    That it was made is remembered by a file in the cache folder, since measuring runs in a process of its own.
    """

    known: bool = True
    broken: str | None = None
    later: int = 0

    def pictures(self) -> LocalPictures:
        return LocalPictures(self.cache)

    def _done(self) -> Path:
        assert self.cache is not None
        return self.cache / "measured"

    def remembered(self, take: Take, limits: Mapping[str, float]) -> Measured | None:
        return measured() if self.known or self._done().exists() else None

    def measure(self, take: Take, limits: Mapping[str, float], around: Callable[[], int], progress: Progress) -> Measured:
        for done in range(1, 21):
            progress.step("looking at pictures", done, 20)
        if self.broken:
            raise InputError(self.broken)
        self._done().parent.mkdir(parents=True, exist_ok=True)
        self._done().touch()
        return measured()

    def lessons(self, take: Take) -> Sequence[Lesson]:
        return []

    def forget(self, who: str, sha256: str | None) -> int:
        return 0

    def line_up(self, old: Take, new: Take, progress: Progress) -> LinedUp:
        return later_by(self.later, old, new)

    def deliveries(self) -> Sequence[DeliveryKind]:
        return [DeliveryKind("list", "List", "The notes as plain text.")]

    def send(self, review: Review, measured: Measured | None, kinds: Sequence[str], to: Path, progress: Progress) -> Sent:
        progress.step("writing what is sent", 0, 1)
        to.mkdir(parents=True, exist_ok=True)
        path = to / "notes.txt"
        path.write_text("\n".join(f"{n.first}-{n.last} {n.weight}: {n.what}" for n in review.notes))
        return Sent((path,))
