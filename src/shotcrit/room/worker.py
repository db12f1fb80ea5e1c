"""What the room has done for it: pictures made, takes measured, deliveries written. A worker can be pickled: long calls run in a process of their own."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Protocol, runtime_checkable

from shotcrit.checks.measured import Measured
from shotcrit.clock import FrameClock
from shotcrit.crit.records import Take
from shotcrit.crit.review import Review
from shotcrit.measuring.characters import Lesson
from shotcrit.measuring.lined_takes import LinedUp
from shotcrit.measuring.review import Reader, Sent
from shotcrit.media.info import MovieInfo
from shotcrit.progress import Progress


@dataclass(frozen=True)
class DeliveryKind:
    """One way of sending. reader: whom it is for; an animator and other programs get only what was taken."""

    kind: str
    name: str
    help: str
    reader: Reader = "animator"


@runtime_checkable
class Telling(Protocol):
    """Progress that also takes what is ready before the whole is: tracks of marks, as they are followed."""

    def tell(self, part: Any) -> None: ...


class PictureMaker(Protocol):
    """Pictures and sound of takes. Errors are ShotcritErrors, one sentence."""

    def look_at(self, path: Path, *, first_frame: int | None = None, sound: Path | None = None) -> tuple[MovieInfo, FrameClock]:
        """What a medium is, without measuring it."""

    def clock(self, take: Take) -> FrameClock:
        """The frame clock of a take's movie, quickly."""

    def frames_folder(self, take: Take) -> Path:
        """Where the pictures of a take are built."""

    def frame_name(self, index: int) -> str:
        """Name of picture `index` in that folder, once it is built."""

    def build_frames(self, take: Take, around: Callable[[], int], progress: Progress) -> None:
        """Build the pictures that are missing, those nearest to `around()` first."""

    def make_frames(self, take: Take, first: int, last: int) -> None:
        """Build pictures first..last at once, as far as they are missing."""

    def wide_frame(self, take: Take, index: int, width: int) -> bytes:
        """Picture `index` as JPEG, `width` pixels wide or as wide as the movie."""

    def sound_file(self, take: Take) -> Path:
        """The sound of a take as FLAC or WAV, made when it is not there. Its first sample belongs to the first picture."""


class Worker(PictureMaker, Protocol):
    """All that takes long, or needs more than the crit."""

    def pictures(self) -> PictureMaker:
        """The picture side alone: what goes to the building process, which should load little."""

    def remembered(self, take: Take, limits: Mapping[str, float]) -> Measured | None:
        """The measurement of a take as it is now (same movie, lines, cast, scene, limits), if it was made before."""

    def measure(self, take: Take, limits: Mapping[str, float], around: Callable[[], int], progress: Progress) -> Measured:
        """Measure a take, those frames nearest to `around()` first, and remember it. Tracks are told on the way where `progress` is Telling."""

    def lessons(self, take: Take) -> Sequence[Lesson]:
        """What is kept of the take's characters from other shots and this one."""

    def forget(self, who: str, sha256: str | None) -> int:
        """Forget what one movie taught of a character, or everything (None); how many files went."""

    def line_up(self, old: Take, new: Take, progress: Progress) -> LinedUp:
        """How the frames of two takes belong together. Raises InputError, one sentence, where they do not."""

    def deliveries(self) -> Sequence[DeliveryKind]:
        """The ways of sending that are installed."""

    def send(self, review: Review, measured: Measured | None, kinds: Sequence[str], to: Path, progress: Progress) -> Sent:
        """Make deliveries (those for an animator when `kinds` is empty) in the folder `to`."""
