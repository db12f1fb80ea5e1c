"""Frames and sound in the room: served from where they were built, built around the playhead when they are not there yet."""

from __future__ import annotations

import asyncio
import threading
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from fractions import Fraction as Rate
from pathlib import Path

from shotcrit.clock import FrameClock
from shotcrit.crit.things import Take
from shotcrit.crit.view import NotHere
from shotcrit.elsewhere.near import Playhead, run_elsewhere
from shotcrit.progress import Progress
from shotcrit.room.building import BEHIND, build_frames
from shotcrit.room.jobs import Ended
from shotcrit.room.shapes.common import Job, ThingName
from shotcrit.room.shapes.events import FramesEvent
from shotcrit.room.shapes.measured import FrameTable, SheetRun, SoundHere
from shotcrit.room.sheet import edges
from shotcrit.room.shelf import Shelf
from shotcrit.room.takes import Takes
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


class Pictures(Takes):
    def forget(self, changed: Sequence[ThingName]) -> None:
        """A take that changed (moved movie, other first frame) gets a new shelf when it is next asked for."""
        super().forget(changed)
        with self._memory:
            for thing in changed:
                if thing.kind == "take":
                    self.memory.shelves.pop(thing.id, None)

    def clock(self, take: Take) -> FrameClock:
        """The frame clock of a take's movie."""
        with self._memory:
            known = self.memory.clocks.get(take.sha256)
            if known is None:
                # A steady movie's clock follows from its rate; only a variable one has to be looked up.
                known = self.desk.clock(take) if take.variable_rate else steady(take)
                self.memory.clocks[take.sha256] = known
            return known

    def shelf(self, take_id: str) -> Shelf:
        with self._memory:
            known = self.memory.shelves.get(take_id)
            if known is None:
                take = self.take(take_id)
                folder = self.desk.frames_folder(take)
                files = [folder / self.desk.frame_name(i) for i in range(take.frames)] if take.width else []
                known = Shelf(take, self.clock(take), files, self.playhead(take_id))
                self.memory.shelves[take_id] = known
            return known

    def playhead(self, take_id: str) -> Playhead:
        """Where the reviewer is, shared with the process that builds frames."""
        with self._memory:
            if take_id not in self.memory.playheads:
                self.memory.playheads[take_id] = Playhead()
            return self.memory.playheads[take_id]

    def set_playhead(self, take_id: str, index: int) -> None:
        shelf = self.shelf(take_id)
        shelf.playhead.value = min(index, max(0, len(shelf.clock) - 1))

    def frame_table(self, take_id: str) -> FrameTable:
        shelf = self.shelf(take_id)
        take, ready = shelf.take, shelf.ready()
        if shelf.files and not shelf.complete():
            self.build_frames(take_id)
        sound = take.sound and SoundHere(
            url=f"/sound/{take.id}.flac",
            rate=take.sound.rate,
            channels=take.sound.channels,
            # The file is cut or padded so that its first sample belongs to the first picture.
            offset_s=0.0,
            duration_s=max(0.0, take.sound.duration_s + take.sound.offset_s),
        )
        return FrameTable(
            take=take.id,
            frames=len(shelf.clock),
            first_frame=take.first_frame,
            rate=take.rate,
            width=take.width,
            height=take.height,
            edges_s=edges(shelf.clock),
            url=f"/frame/{take.id}/{{index}}.jpg",
            ready=[SheetRun(first=span.start, last=span.last) for span in ready],
            sound=sound,
        )

    def build_frames(self, take_id: str) -> Job:
        """Build what is missing, in the background; the same job when it runs already."""
        shelf = self.shelf(take_id)

        def tell(*, now: bool = False) -> None:
            for span in shelf.arrived(now=now):
                self.events.post(FramesEvent(take=take_id, first=span.start, last=span.last))

        def body(watch: Progress, stop: threading.Event) -> Ended:
            seen = _Looking(watch, tell)
            run_elsewhere(build_frames, self.desk.pictures(), shelf.take, progress=seen, stop=stop, playhead=shelf.playhead, bounds=BEHIND)
            tell(now=True)
            return "all frames are ready", ()

        return self.jobs.start("frames", take_id, body)

    async def frame(self, take_id: str, index: int, width: int | None) -> bytes:
        known = self.memory.shelves.get(take_id)
        shelf = known if known is not None else await asyncio.to_thread(self.shelf, take_id)
        if index >= len(shelf.files):
            raise NotHere("this take has no such frame")
        if width is not None:
            return await asyncio.to_thread(self._wide, shelf.take, index, width)
        # Read here and not in a thread: a page-cached file of 100 kB takes less time than the way to a thread and back.
        data = shelf.read(index)
        return data if data is not None else await self._built(shelf, index)

    async def _built(self, shelf: Shelf, index: int) -> bytes:
        """Make a missing picture here and now, and those that follow it; the building process goes on from there.

        One at a time: a page that asks for twenty frames at once gets them in the order of asking, each second one without work.
        """
        shelf.playhead.value = index
        last_job = self.jobs.latest("frames", shelf.take.id)
        # One that failed would fail again at each picture asked for; it is started anew when the reviewer asks for it.
        if last_job is None or last_job.state != "failed":
            self.build_frames(shelf.take.id)
        async with shelf.turn:
            data = shelf.read(index)
            if data is None:
                last = min(index + AT_ONCE, len(shelf.files)) - 1
                await asyncio.to_thread(self.desk.make_frames, shelf.take, index, last)
                data = shelf.read(index)
        if data is None:
            raise NotYet("this frame is still being made; ask again in a moment")
        return data

    def _wide(self, take: Take, index: int, width: int) -> bytes:
        key = (take.sha256, index, width)
        with self._memory:
            stills = self.memory.stills
            if key in stills:
                stills.move_to_end(key)
                return stills[key]
        data = self.desk.wide_frame(take, index, width)
        with self._memory:
            stills[key] = data
            while len(stills) > KEPT_STILLS:
                stills.popitem(last=False)
        return data

    def sound_file(self, take_id: str) -> tuple[Path, str]:
        """The sound's file and its media type. Raises NotHere when the take is silent."""
        take = self.take(take_id)
        if take.sound is None:
            raise NotHere("this take has no sound")
        path = self.desk.sound_file(take)
        return path, "audio/flac" if path.suffix == ".flac" else "audio/wav"


def steady(take: Take) -> FrameClock:
    """The clock of a movie with a steady rate."""
    above, below = take.rate.split("/")
    return FrameClock.steady(Rate(int(above), int(below)), take.frames)
