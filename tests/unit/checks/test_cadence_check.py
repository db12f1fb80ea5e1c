"""Cadence findings: conversions named once, twos only where the camera moves, lengths and variable rates."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import numpy as np
from tests.make.films import make_sequence
from tests.make.picture_rows import judged, paced, read_film, through_film, with_picture
from tests.make.posed import acting, actor_on_step, on_step, painted

from shotcrit.checks import cadence
from shotcrit.checks.hold import check as hold
from shotcrit.media.info import SoundInfo

SIZE = (640, 360)


def kinds(readings) -> list[str]:  # type: ignore[no-untyped-def]
    return [f.kind for f in judged(cadence, readings)]


def test_a_conversion_is_one_finding_that_names_it_and_no_hold(tmp_path: Path) -> None:
    poses = acting(90)
    readings = through_film(tmp_path, painted([poses[k * 24 // 30] for k in range(60)], SIZE), rate=Fraction(30))
    found = judged(cadence, readings)
    assert [f.kind for f in found] == ["conversion"]
    assert "24 to 30 frames per second" in found[0].says
    assert (found[0].value, found[0].limit) == (24, 30)
    assert judged(hold, readings) == ()


def test_work_on_twos_is_told_and_is_no_fault(tmp_path: Path) -> None:
    readings = through_film(tmp_path, painted(on_step(acting(36), 2), SIZE))
    assert readings.picture is not None
    assert readings.picture.cadence is not None
    assert readings.picture.cadence.name == "on twos"
    assert judged(cadence, readings) == ()
    assert judged(hold, readings) == ()


def test_a_figure_on_twos_under_a_moving_camera_jitters(tmp_path: Path) -> None:
    poses = acting(36, pan=1.5, speed=6)
    on_twos = through_film(tmp_path, painted(actor_on_step(poses, 2), SIZE))
    assert kinds(on_twos) == ["twos"]
    assert judged(cadence, on_twos)[0].weight == "polish"
    assert kinds(through_film(tmp_path, painted(poses, SIZE))) == []


def test_a_doubled_and_a_dropped_frame_are_found_on_their_frame(tmp_path: Path) -> None:
    poses = acting(50, pan=5)
    doubled = through_film(tmp_path, painted([poses[k - (k >= 20)] for k in range(40)], SIZE))
    dropped = through_film(tmp_path, painted([poses[k + (k >= 20)] for k in range(40)], SIZE))
    assert [(f.kind, f.span.start) for f in judged(cadence, doubled)] == [("doubled", 20)]
    assert [(f.kind, f.span.start) for f in judged(cadence, dropped)] == [("dropped", 20)]


def test_sound_that_runs_on_is_measured_in_frames_and_a_codecs_tail_is_none() -> None:
    base = with_picture(48)
    for seconds, expected in ((2.5, [12.0]), (2.05, []), (1.5, [-12.0])):
        sound = SoundInfo(48000, 1, Fraction(0), Fraction(seconds))
        readings = replace(base, movie=replace(base.movie, sound=sound))
        assert [f.value for f in judged(cadence, readings) if f.kind == "length"] == expected


def test_a_variable_rate_is_told_with_its_longest_frame() -> None:
    base = with_picture(24)
    starts = [Fraction(i, 24) + (Fraction(1, 12) if i > 10 else 0) for i in range(24)]
    clock = type(base.clock).from_starts(starts, Fraction(24))
    readings = replace(base, clock=clock, movie=replace(base.movie, variable_rate=True))
    found = judged(cadence, readings)
    assert [(f.kind, f.value) for f in found] == [("variable", 3.0)]
    assert "frame 11" in found[0].says
    assert found[0].weight == "must"


def test_a_clock_that_strays_by_a_few_milliseconds_holds_no_shot_back() -> None:
    """A webcam's recording (62 to 72 ms a picture at 15 a second) was a `must`, as if pictures stood twice as long."""
    base = with_picture(24)
    starts = [Fraction(i, 15) + Fraction((0, 3, -2, 4)[i % 4], 1000) for i in range(24)]
    readings = replace(base, clock=type(base.clock).from_starts(starts, Fraction(15)), movie=replace(base.movie, variable_rate=True))
    assert [(f.kind, f.weight) for f in judged(cadence, readings)] == [("variable", "polish")]


def test_twos_reading_does_not_hide_a_hold() -> None:
    repeats = np.arange(60) % 2 == 1
    repeats[50:] = True
    readings = with_picture(60, repeats=repeats, cadence=paced(repeats & (np.arange(60) < 50)))
    assert [(f.kind, f.span.start) for f in judged(hold, readings)] == [("tail", 50)]


def test_a_run_of_pictures_with_one_missing_is_measured(tmp_path: Path) -> None:
    """Movement into a picture that is not there is not known; until now that broke the check off."""
    run = make_sequence(tmp_path / "run", painted(acting(30, pan=5), (320, 180)), skip=(1015,))
    readings = read_film(run)
    assert readings.picture is not None
    assert np.isnan(readings.picture.movement.values[14])
    assert judged(cadence, readings) == ()
    assert judged(hold, readings) == ()


def test_all_doubled_frames_are_one_finding_that_lists_them() -> None:
    readings = with_picture(60, cadence=paced(np.zeros(60, np.bool_), doubled=(9, 30, 52)))
    (found,) = judged(cadence, readings)
    assert (found.kind, found.frames, found.value, found.span.start, found.span.last) == ("doubled", (9, 30, 52), 3, 9, 52)
    assert "10, 31 and 53" in found.says


def test_a_stepped_pass_is_silent() -> None:
    repeats = np.arange(60) > 40
    readings = replace(with_picture(60, repeats=repeats), medium="blocking")
    assert judged(hold, readings) == ()
    assert judged(cadence, readings) == ()
