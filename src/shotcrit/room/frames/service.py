"""Frames and sound in the room: served from where they were built, built around the playhead when they are not there yet."""

from __future__ import annotations

import asyncio
import threading
from collections import OrderedDict
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from fractions import Fraction as Rate
from pathlib import Path

from shotcrit.clock import FrameClock
from shotcrit.crit.records import Take
from shotcrit.crit.view import NotHere
from shotcrit.elsewhere.near import Playhead, run_elsewhere
from shotcrit.progress import Progress
from shotcrit.room.arrays import edges
from shotcrit.room.edits import Edits
from shotcrit.room.events.bus import Bus
from shotcrit.room.events.shapes import FramesEvent
from shotcrit.room.frames.building import build_frames
from shotcrit.room.frames.built import BuiltFrames
from shotcrit.room.frames.shapes import FrameRun, FrameTable, SoundHere
from shotcrit.room.jobs.behind import BEHIND
from shotcrit.room.jobs.service import Ended, Jobs
from shotcrit.room.jobs.shapes import Job
from shotcrit.room.shapes import RecordName
from shotcrit.room.worker import Worker
from shotcrit.store.errors import StoreBusy

AT_ONCE = 6
"""Frames made together when one is asked for that is missing: the next steps are then there already (guess)."""
KEPT_STILLS = 24
"""Wide stills kept in memory: 24 of 1 MB."""


class NotYet(StoreBusy):
    """A frame is still being built."""


@dataclass(frozen=True)
class _Looking:
    """Progress that looks for pictures that have arrived at each step."""

    behind: Progress
    look: Callable[[], None]

    def step(self, stage: str, done: float, total: float | None) -> None:
        self.look()
        self.behind.step(stage, done, total)


class Frames:
    def __init__(self, edits: Edits, worker: Worker, jobs: Jobs, events: Bus) -> None:
        self._edits = edits
        self._worker = worker
        self._jobs = jobs
        self._events = events
        self._lock = threading.RLock()
        self._clocks: dict[str, FrameClock] = {}
        self._built: dict[str, BuiltFrames] = {}
        self._playheads: dict[str, Playhead] = {}
        self._stills: OrderedDict[tuple[str, int, int], bytes] = OrderedDict()
        edits.on_change(self._forget)

    def clock(self, take: Take) -> FrameClock:
        """The frame clock of a take's movie."""
        with self._lock:
            known = self._clocks.get(take.sha256)
            if known is None:
                # A steady movie's clock follows from its rate; only a variable one has to be looked up.
                known = self._worker.clock(take) if take.variable_rate else steady(take)
                self._clocks[take.sha256] = known
            return known

    def built(self, take_id: str) -> BuiltFrames:
        """The pictures of a take as far as they are built. Raises NotHere when there is no such take."""
        with self._lock:
            known = self._built.get(take_id)
            if known is None:
                take = self._edits.get(Take, take_id)
                folder = self._worker.frames_folder(take)
                files = [folder / self._worker.frame_name(i) for i in range(take.frames)] if take.width else []
                known = self._built[take_id] = BuiltFrames(take, self.clock(take), files, self.playhead(take_id))
            return known

    def playhead(self, take_id: str) -> Playhead:
        """Where the reviewer is, shared with the process that builds frames."""
        with self._lock:
            if take_id not in self._playheads:
                self._playheads[take_id] = Playhead()
            return self._playheads[take_id]

    def set_playhead(self, take_id: str, index: int) -> None:
        built = self.built(take_id)
        built.playhead.value = min(index, max(0, len(built.clock) - 1))

    def table(self, take_id: str) -> FrameTable:
        built = self.built(take_id)
        take, ready = built.take, built.ready()
        if built.files and not built.complete():
            self.build(take_id)
        return FrameTable(
            take=take.id,
            frames=len(built.clock),
            first_frame=take.first_frame,
            rate=take.rate,
            width=take.width,
            height=take.height,
            edges_s=edges(built.clock),
            url=f"/frame/{take.id}/{{index}}.jpg",
            ready=[FrameRun(first=span.start, last=span.last) for span in ready],
            sound=_sound_here(take),
        )

    def build(self, take_id: str) -> Job:
        """Build what is missing, in the background; the same job when it runs already."""
        built = self.built(take_id)

        def tell(*, now: bool = False) -> None:
            for span in built.arrived(now=now):
                self._events.post(FramesEvent(take=take_id, first=span.start, last=span.last))

        def body(watch: Progress, stop: threading.Event) -> Ended:
            seen = _Looking(watch, tell)
            run_elsewhere(
                build_frames, self._worker.pictures(), built.take, progress=seen, stop=stop, playhead=built.playhead, bounds=BEHIND
            )
            tell(now=True)
            return "all frames are ready", ()

        return self._jobs.start("frames", take_id, body)

    async def picture(self, take_id: str, index: int, width: int | None) -> bytes:
        """One picture as JPEG, made now where it is missing; width: None for the built one, else pixels."""
        known = self._built.get(take_id)
        built = known if known is not None else await asyncio.to_thread(self.built, take_id)
        if index >= len(built.files):
            raise NotHere("this take has no such frame")
        if width is not None:
            return await asyncio.to_thread(self._wide, built.take, index, width)
        # Read here and not in a thread: a page-cached file of 100 kB takes less time than the way to a thread and back.
        data = built.read(index)
        return data if data is not None else await self._made(built, index)

    async def _made(self, built: BuiltFrames, index: int) -> bytes:
        """Make a missing picture here and now, and those that follow it; the building process goes on from there.

        One at a time: a page that asks for twenty frames at once gets them in the order of asking, each second one without work.
        """
        built.playhead.value = index
        last_job = self._jobs.latest("frames", built.take.id)
        # One that failed would fail again at each picture asked for; it is started anew when the reviewer asks for it.
        if last_job is None or last_job.state != "failed":
            self.build(built.take.id)
        async with built.turn:
            data = built.read(index)
            if data is None:
                last = min(index + AT_ONCE, len(built.files)) - 1
                await asyncio.to_thread(self._worker.make_frames, built.take, index, last)
                data = built.read(index)
        if data is None:
            raise NotYet("this frame is still being made; ask again in a moment")
        return data

    def _wide(self, take: Take, index: int, width: int) -> bytes:
        key = (take.sha256, index, width)
        with self._lock:
            if key in self._stills:
                self._stills.move_to_end(key)
                return self._stills[key]
        data = self._worker.wide_frame(take, index, width)
        with self._lock:
            self._stills[key] = data
            while len(self._stills) > KEPT_STILLS:
                self._stills.popitem(last=False)
        return data

    def sound_file(self, take_id: str) -> tuple[Path, str]:
        """The sound's file and its media type. Raises NotHere when the take is silent."""
        take = self._edits.get(Take, take_id)
        if take.sound is None:
            raise NotHere("this take has no sound")
        path = self._worker.sound_file(take)
        return path, "audio/flac" if path.suffix == ".flac" else "audio/wav"

    def _forget(self, changed: Sequence[RecordName]) -> None:
        """A take that changed (moved movie, other first frame) is looked at anew when its frames are next asked for."""
        with self._lock:
            for record in changed:
                if record.kind == "take":
                    self._built.pop(record.id, None)


def steady(take: Take) -> FrameClock:
    """The clock of a movie with a steady rate."""
    above, below = take.rate.split("/")
    return FrameClock.steady(Rate(int(above), int(below)), take.frames)


def _sound_here(take: Take) -> SoundHere | None:
    """The file that is served is cut or padded so that its first sample belongs to the first picture."""
    if take.sound is None:
        return None
    return SoundHere(
        url=f"/sound/{take.id}.flac",
        rate=take.sound.rate,
        channels=take.sound.channels,
        offset_s=0.0,
        duration_s=max(0.0, take.sound.duration_s + take.sound.offset_s),
    )
