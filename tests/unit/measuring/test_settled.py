"""What a request leaves to the medium: how frames and the cast are counted, and which frames count."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from tests.make.measured import FIRST_FRAME, FRAMES, measured

from shotcrit.clock import Span
from shotcrit.crit.recount import counted_otherwise, shifted
from shotcrit.errors import InputError
from shotcrit.measuring.assumed import assumed_of
from shotcrit.measuring.request import MeasureRequest
from shotcrit.measuring.settled import counted_frames, settled
from shotcrit.readings.cast import Cast, parse_cast
from shotcrit.readings.shots import shots_of

INFO = measured().readings.movie


def cast(*frames: int, look: tuple[int, int] | None = None) -> Cast:
    marks = {"nose": [{"frame": f, "x": 0.5, "y": 0.5} for f in frames]}
    looks = [{"who": "Oona", "at": "camera", "first": look[0], "last": look[1]}] if look else []
    return parse_cast({"characters": [{"name": "Oona", "marks": marks}], "looks": looks}, name="the cast")


@pytest.mark.parametrize(
    ("wanted", "span"),
    [((None, None), None), ((1009, 1100), Span(8, 100)), ((None, 1100), Span(0, 100)), ((1009, None), Span(8, FRAMES)), ((1, 9000), None),
     ((1264, 1264), Span(263, 264))],
)  # fmt: skip
def test_frames_that_count(wanted: tuple[int | None, int | None], span: Span | None) -> None:
    assert counted_frames(MeasureRequest(Path("a.mov"), count_from=wanted[0], count_to=wanted[1]), INFO) == span


@pytest.mark.parametrize("wanted", [(1100, 1009), (2000, None), (None, 1000), (1, 264)])
def test_a_shot_of_which_nothing_counts_is_one_sentence(wanted: tuple[int | None, int | None]) -> None:
    with pytest.raises(InputError, match="1001 to 1264") as caught:
        counted_frames(MeasureRequest(Path("a.mov"), count_from=wanted[0], count_to=wanted[1]), INFO)
    assert "\n" not in str(caught.value)
    said = " ".join(f"{word} {frame}" for word, frame in zip(("from", "to"), wanted, strict=True) if frame is not None)
    assert f"so that {said} none counts" in str(caught.value)


def test_a_handle_is_no_part_of_a_shot() -> None:
    readings = measured().readings
    assert shots_of(readings) == [Span(0, 96), Span(96, 168), Span(168, 264)]
    assert shots_of(replace(readings, counts=Span(8, 150))) == [Span(8, 96), Span(96, 150)]


def test_a_cast_counted_from_elsewhere_is_moved_once() -> None:
    request = settled(MeasureRequest(Path("a.mov"), cast=cast(21, 116), cast_from=1), INFO)
    assert request.cast == cast(1021, 1116)
    assert request.first_frame == FIRST_FRAME
    assert settled(request, INFO) == request


@pytest.mark.parametrize(
    ("frames", "first_frame", "told"),
    [
        ((1021, 1116), 1, 1001), ((21, 116), 1001, 1), ((101, 140), 1001, 101), ((121, 140), 1, None), ((0, 263), 1001, 0),
        ((5000,), 1, None), ((21, 2000), 1001, None), ((1021,), 1001, None), ((21, 1021), 1001, None), ((), 1, None),
    ],
)  # fmt: skip
def test_a_cast_that_is_counted_otherwise_than_its_movie(frames: tuple[int, ...], first_frame: int, told: int | None) -> None:
    assert counted_otherwise(cast(*frames), first_frame=first_frame, frames=FRAMES) == told
    if told is not None:
        moved = shifted(cast(*frames), first_frame - told)
        assert counted_otherwise(moved, first_frame=first_frame, frames=FRAMES) is None


def test_looks_are_counted_too() -> None:
    assert counted_otherwise(cast(look=(1001, 1100)), first_frame=1, frames=FRAMES) == 1001


def test_what_counts_and_how_the_cast_is_counted_is_said() -> None:
    request = MeasureRequest(Path("a.mov"), cast=cast(21, 116), count_from=1009, count_to=1009)
    said = {a.says for a in assumed_of(request, INFO) if a.about == "frames"}
    assert said == {
        "only 1009 counts; what lies outside is shown and not judged",
        "the cast seems to count from 1 and the movie from 1001, so nothing in it meets a frame; "
        "say --cast-from 1 to move it, or --first-frame 1 to count the movie so",
    }
