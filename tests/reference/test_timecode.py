"""Time code against OpenTimelineIO and against the published drop-frame rule (SMPTE ST 12-1: numbers 00 and 01, at 59.94 00 to 03, are left out
of every minute but each tenth). The vectors are calculated from that rule and stand in the project's references; OpenTimelineIO agrees with them."""

from __future__ import annotations

from fractions import Fraction

import opentimelineio as otio
import pytest
from hypothesis import given
from hypothesis import strategies as st

from shotcrit.clock.timecode import frame_to_label, frame_to_timecode, timecode_to_frame
from shotcrit.errors import InputError

NTSC30, NTSC60, FILM = Fraction(30000, 1001), Fraction(60000, 1001), Fraction(24000, 1001)
DROP_30 = {
    0: "00:00:00;00", 1799: "00:00:59;29", 1800: "00:01:00;02", 1801: "00:01:00;03", 3597: "00:01:59;29", 3598: "00:02:00;02",
    5396: "00:03:00;02", 8991: "00:04:59;29", 17981: "00:09:59;29", 17982: "00:10:00;00", 17983: "00:10:00;01", 19781: "00:10:59;29",
    19782: "00:11:00;02", 53946: "00:30:00;00", 107891: "00:59:59;29", 107892: "01:00:00;00", 1084319: "10:03:00;05", 2589407: "23:59:59;29",
}  # fmt: skip
DROP_60 = {3599: "00:00:59;59", 3600: "00:01:00;04", 35964: "00:10:00;00", 215784: "01:00:00;00"}
PLAIN = [
    (86400, Fraction(24), "01:00:00:00"),
    (1440, FILM, "00:01:00:00"),
    (1084319, NTSC30, "10:02:23:29"),
    (0, Fraction(25), "00:00:00:00"),
]


@pytest.mark.parametrize(("rate", "vectors"), [(NTSC30, DROP_30), (NTSC60, DROP_60)])
def test_drop_frame_vectors_both_ways(rate: Fraction, vectors: dict[int, str]) -> None:
    assert {f: frame_to_timecode(f, rate, drop=True) for f in vectors} == vectors
    assert {timecode_to_frame(text, rate): text for text in vectors.values()} == vectors


@pytest.mark.parametrize(("frame", "rate", "text"), PLAIN)
def test_plain_vectors_both_ways(frame: int, rate: Fraction, text: str) -> None:
    assert frame_to_timecode(frame, rate) == text
    assert timecode_to_frame(text, rate) == frame


@given(st.integers(0, 2_589_407))
def test_the_library_and_the_published_rule_agree_with_us(frame: int) -> None:
    ours = frame_to_timecode(frame, NTSC30, drop=True)
    time = otio.opentime.RationalTime(frame, float(NTSC30))
    assert ours == otio.opentime.to_timecode(time, float(NTSC30), True)
    assert ours == _by_the_rule(frame)
    assert timecode_to_frame(ours, NTSC30) == frame


def _by_the_rule(frame: int) -> str:
    """Counted out: two numbers less in nine of ten minutes."""
    tens, rest = divmod(frame, 17982)
    left_out = 18 * tens + (2 * ((rest - 2) // 1798) if rest >= 1800 else 0)
    number = frame + left_out
    return f"{number // 108000:02d}:{number // 1800 % 60:02d}:{number // 30 % 60:02d};{number % 30:02d}"


@pytest.mark.parametrize("text", ["00:01:00;00", "00:01:00;01", "rubbish", "00:00:61:00x"])
def test_numbers_that_drop_frame_leaves_out_and_rubbish_are_refused(text: str) -> None:
    with pytest.raises(InputError):
        timecode_to_frame(text, NTSC30)


@pytest.mark.parametrize("rate", [Fraction(24), Fraction(25), FILM])
def test_drop_frame_exists_only_where_the_standard_has_it(rate: Fraction) -> None:
    with pytest.raises(InputError, match="drop-frame"):
        frame_to_timecode(10, rate, drop=True)


def test_a_rate_without_time_code_is_labelled_by_the_clock() -> None:
    assert frame_to_label(25, Fraction(25, 2)).startswith("00:00:0")
    assert frame_to_label(49, Fraction(24)) == "00:00:02:01"
    with pytest.raises(InputError, match="starts at frame 0"):
        frame_to_timecode(-1, Fraction(24))
