"""How the frames of one movie are counted in other programs: first frame, exact rate, time code.

index      0        1        2          inside
shown    1001     1002     1003         first_frame + index
code   00:00:41:17  :18     :19         the movie's own start, or where it has none frame 0 at 00:00:00:00
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from shotcrit.clock import FrameClock, Numbering, Span, rate_label
from shotcrit.clock.timecode import frame_to_timecode, timecode_to_frame
from shotcrit.errors import InputError
from shotcrit.media.info import MovieInfo


@dataclass(frozen=True)
class Counting:
    """start : the first picture's time code, as a number of frames since 00:00:00:00; drop : drop-frame (29.97 and 59.94 alone)

    variable : frames come unevenly, so that times are the clock's own and not index / rate
    remark : a sentence on what time code could not follow, else ''
    """

    clock: FrameClock
    first_frame: int
    start: int
    drop: bool = False
    variable: bool = False
    remark: str = ""

    @property
    def rate(self) -> Fraction:
        return self.clock.rate

    @property
    def numbering(self) -> Numbering:
        return Numbering(self.first_frame)

    def shown(self, index: int) -> int:
        return index + self.first_frame

    def frames(self, first: int, last: int) -> str:
        """'frame 1046' or 'frames 1046 to 1052', in words."""
        return f"frame {self.shown(first)}" if first == last else f"frames {self.shown(first)} to {self.shown(last)}"

    def timecode(self, index: int) -> str | None:
        """Of a frame; None at a rate that has no time code."""
        try:
            return frame_to_timecode(self.start + index, self.rate, drop=self.drop)
        except InputError:
            return None

    def need_timecode(self, index: int) -> str:
        """Of a frame. Raises InputError, one sentence, at a rate that has none."""
        return frame_to_timecode(self.start + index, self.rate, drop=self.drop)

    def seconds(self, span: Span) -> tuple[Fraction, Fraction]:
        """From when to when the frames are on screen, seconds from the first picture, half-open."""
        return self.clock.start(span.start), self.clock.stop(span.last)

    def about(self) -> str:
        """'first frame 1001, 24 frames a second, time code from 00:00:41:17'; for files that hold it in words alone."""
        code = self.timecode(0)
        kind = "drop-frame time code" if self.drop else "time code"
        return f"first frame {self.first_frame}, {rate_label(self.rate)} frames a second" + (f", {kind} from {code}" if code else "")


def counting_of(info: MovieInfo, clock: FrameClock) -> Counting:
    """By the movie's own time code; where it has none, frame 0 stands at 00:00:00:00, as is common practice (no source)."""
    drop = ";" in (info.timecode or "") and clock.rate in (Fraction(30000, 1001), Fraction(60000, 1001))
    start, remark = _start(info, clock.rate)
    return Counting(clock, info.first_frame, start, drop, info.variable_rate, remark)


def _start(info: MovieInfo, rate: Fraction) -> tuple[int, str]:
    if info.timecode:
        try:
            return timecode_to_frame(info.timecode, rate), ""
        except InputError:
            pass
    if info.first_frame < 0:
        return 0, f"The first frame is {info.first_frame}, and time code has no numbers below nought; it begins at 00:00:00:00."
    return info.first_frame, ""
