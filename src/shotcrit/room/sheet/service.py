"""The sheet as the page paints it, and the track reading as a file."""

from __future__ import annotations

from shotcrit.crit.records import Correction
from shotcrit.crit.view import NotHere
from shotcrit.deliver.file_name import file_name
from shotcrit.readings.sound.textgrid import textgrid_of
from shotcrit.room.edits import Edits
from shotcrit.room.frames.service import Frames
from shotcrit.room.judging.service import Judging
from shotcrit.room.measured.service import Measurements
from shotcrit.room.sheet.build import build_sheet, drawn_lanes, followed
from shotcrit.room.sheet.shapes import Followed, Sheet
from shotcrit.room.takes.service import Takes


class Sheets:
    def __init__(self, edits: Edits, takes: Takes, frames: Frames, measurements: Measurements, judging: Judging) -> None:
        self._edits = edits
        self._takes = takes
        self._frames = frames
        self._measurements = measurements
        self._judging = judging

    def sheet(self, take_id: str) -> Sheet:
        """With the corrections; what the reviewer left alone is no fault on it."""
        judged = self._judging.judgement(take_id)
        take, clock = judged.take, self._frames.clock(judged.take)
        with self._edits.view() as view:
            corrections = view.all(Correction, take=take_id)
        measured = self._measurements.measured(take)
        told = [item.finding for item in judged.items if item.state != "dismissed"]
        drawn = drawn_lanes(take, clock, judged.measured.readings if judged.measured else None, told)
        return build_sheet(take, clock, measured.readings if measured else None, corrections, drawn)

    def following(self, take_id: str) -> Followed:
        """The tracks of marks as far as they are followed just now."""
        return followed(self._takes.get(take_id), self._measurements.followed_now(take_id))

    def track_reading(self, take_id: str) -> tuple[str, str]:
        """(a file's name, words, phones and breaths as a TextGrid), as they were corrected by hand. Raises NotHere where there is none yet."""
        judged = self._judging.judgement(take_id)
        take, sound = judged.take, judged.measured.readings.sound if judged.measured else None
        if sound is None or take.sound is None:
            raise NotHere("there is no track reading of this take yet; measure it first, and give it sound")
        text = textgrid_of(sound, take.sound.duration_s, offset_s=take.sound.offset_s)
        return f"{file_name(take.label or 'take')}-{take.number}.TextGrid", text
