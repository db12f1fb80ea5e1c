"""The desk on this computer, as far as the room needs it."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from shotcrit.checks.measured import Measured
from shotcrit.crit.review import Review
from shotcrit.crit.things import Take
from shotcrit.desk.deliveries import DELIVERIES, send_measured
from shotcrit.desk.measure import Bench, measure, remembered
from shotcrit.desk.request import MeasureRequest, said_from_text
from shotcrit.errors import InputError
from shotcrit.progress import Progress
from shotcrit.room.local_pictures import LocalPictures
from shotcrit.room.port import DeliveryKind


@dataclass(frozen=True)
class LocalDesk(LocalPictures):
    """Pictures as LocalPictures has them, and measuring and sending besides."""

    def pictures(self) -> LocalPictures:
        return LocalPictures(self.cache)

    def _request(self, take: Take, limits: Mapping[str, float]) -> MeasureRequest:
        lines, key = said_from_text(take.lines)
        return MeasureRequest(
            movie=Path(take.path),
            lines=lines,
            said_key=key,
            cast=take.cast if take.cast.marked else None,
            scene=Path(take.scene) if take.scene else None,
            first_frame=take.first_frame,
            medium=take.medium,
            limits=limits,
        )

    def remembered(self, take: Take, limits: Mapping[str, float]) -> Measured | None:
        return remembered(self._request(take, limits), Bench(cache=self.kept(), proxy=False))

    def measure(self, take: Take, limits: Mapping[str, float], around: Callable[[], int], progress: Progress) -> Measured:
        bench = Bench(cache=self.kept(), progress=progress, around=around, proxy=True)
        return measure(self._request(take, limits), bench, movie=self.movie(take))

    def frame_map(self, old: Take, new: Take) -> Sequence[int | None]:
        """By number, until two takes are lined up by what they show."""
        return [frame if frame < new.frames else None for frame in range(old.frames)]

    def deliveries(self) -> Sequence[DeliveryKind]:
        return [DeliveryKind(d.name, d.ending, d.help) for d in DELIVERIES]

    def send(self, review: Review, measured: Measured | None, kinds: Sequence[str], to: Path, progress: Progress) -> Sequence[Path]:
        if measured is None:
            raise InputError("this take is not measured yet, so there is nothing to send but the crit; measure it first")
        return send_measured(measured, self.movie(review.take), to, names=kinds or None, cache=self.kept(), progress=progress)
