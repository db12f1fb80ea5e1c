"""A crit at any rate, counted from 1001: one note on frame 1046, one on 1060 to 1066 with a drawing."""

from __future__ import annotations

from dataclasses import dataclass, replace
from fractions import Fraction

from shotcrit.crit.records import Stroke
from shotcrit.deliver.crit_input import CritForDelivery, Drawn, NoteForDelivery
from tests.make.crits import arc_stroke, sight_strokes
from tests.make.measured import measured


@dataclass(frozen=True)
class Rate:
    """One row of the table: how fast, and what time code frame 1046 has. code : counted out by SMPTE ST 12-1's rule (see tests/reference/test_timecode.py)

    starts : time code that the movie carries; None: it carries none, and frame 0 is 00:00:00:00
    """

    name: str
    rate: Fraction
    code: str
    starts: str | None = None


NTSC = {number: Fraction(number * 1000, 1001) for number in (24, 30, 60)}
RATES = (
    Rate("23.976", NTSC[24], "00:00:43:14"),
    Rate("24", Fraction(24), "00:00:43:14"),
    Rate("25", Fraction(25), "00:00:41:21"),
    Rate("29.97", NTSC[30], "00:00:34:26"),
    Rate("29.97 drop", NTSC[30], "00:01:00;13", "00:00:58;26"),
    Rate("30", Fraction(30), "00:00:34:26"),
    Rate("48", Fraction(48), "00:00:21:38"),
    Rate("50", Fraction(50), "00:00:20:46"),
    Rate("59.94", NTSC[60], "00:00:17:26"),
    Rate("59.94 drop", NTSC[60], "01:00:00;25", "00:59:59;40"),
    Rate("60", Fraction(60), "00:00:17:26"),
)
"""1046 is 43 x 24 + 14, 41 x 25 + 21, 34 x 30 + 26, 21 x 48 + 38, 20 x 50 + 46, 17 x 60 + 26. Drop-frame: 45 frames after 00:00:58;26 the count is at
00:01:00:11, and numbers 00 and 01 of minute 1 are left out, so ;13; hours leave nothing out, as each tenth minute, so 45 after 00:59:59;40 is ;25."""

POINTS = (((0.2, 0.3, 0.5, 0.0), (0.4, 0.25, 0.5, 40.0), (0.6, 0.5, 0.5, 90.0)), ((0.5, 0.5, 0.2, 0.0), (0.7, 0.6, 0.9, 30.0)))


def counted_crit(row: Rate, frames: int = 264) -> CritForDelivery:
    """Frame indices 45, and 59 to 65 with an arc and what every other tool draws."""
    whole = measured(rate=row.rate, frames=frames)
    info = replace(whole.readings.movie, timecode=row.starts)
    notes = (
        NoteForDelivery("n1", 45, 45, "must", "Oona's lids close early; look at 1046.", "We lose the thought.", "Hold them, then \u201cblink\u201d.", "Oona",
                        "1 frame"),
        NoteForDelivery("n2", 59, 65, "keep", "=The drop before \u201cpromised\u201d,\nit sells; the line", who="Bram",
                        drawings=(Drawn(60, 62, (arc_stroke(), *sight_strokes())),), at=61),
    )  # fmt: skip
    return CritForDelivery(
        "c-lantern", "t3", "Lantern 040", "take 3", replace(whole, readings=replace(whole.readings, movie=info), findings=(), not_measured=()),
        overall="Nearly there.", one_thing="n1", notes=notes, animator="Ada", reviewer="Ben",
    )  # fmt: skip


def pencil(points: tuple[tuple[float, float, float, float], ...] = POINTS[0]) -> Stroke:
    """A red line."""
    return Stroke(colour="red", points=points)
