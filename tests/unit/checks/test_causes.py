"""One cause is one finding; an assumption never accuses."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from tests.make.limit_cases.bodies import talking
from tests.make.limit_cases.mouths import stirring

from shotcrit.checks.causes import one_each
from shotcrit.checks.finding import Cause, Finding, pair_of
from shotcrit.checks.registry import run_checks
from shotcrit.checks.standing import standing
from shotcrit.clock import Span
from shotcrit.readings.bundle import PictureReadings, Readings, Series

HEIGHT = "height of the look"


def finding(check: str, kind: str, who: str | None, causes: tuple[Cause, ...], **more: object) -> Finding:
    plain = Finding(check, kind, who, Span(10, 20), 9.0, "degrees", 2.0, "must", 0.9, f"{check} {kind}", "turn", "guess", 3, causes=causes)
    return replace(plain, **more)  # type: ignore[arg-type]


ADA, BEN = Cause(HEIGHT, "Ada", Span(0, 20)), Cause(HEIGHT, "Ben", Span(20, 40))
ONE = finding("eyeline", "off_target", "Ada", (ADA,))
PAIR = finding("cut", "faces_do_not_meet", pair_of("Ada", "Ben"), (ADA, BEN), weight="polish")


def test_a_scene_that_knows_whose_fault_it_is_silences_the_pair() -> None:
    assert one_each([PAIR, ONE]) == [ONE]


def test_what_rests_on_nothing_is_told_rather_than_what_does() -> None:
    assert one_each([replace(ONE, rests_on=("both heads are equally tall",)), PAIR]) == [PAIR]


def test_other_people_other_frames_other_faults_are_other_causes() -> None:
    later, side = Cause(HEIGHT, "Ada", Span(20, 30)), Cause("side of the look", "Ada", Span(0, 20))
    others = [
        finding("eyeline", "off_target", "Ada", (later,)),
        finding("eyeline", "off_target", "Ada", (side,)),
        finding("hold", "tail", None, ()),
    ]
    assert one_each([ONE, *others]) == [ONE, *others]


def test_a_camera_over_the_line_explains_what_turns_round_with_it() -> None:
    sides = Cause("sides of the screen", "", Span(19, 21))
    crossed = finding("cut", "crossed_line", None, (sides, ADA, BEN), weight="polish", confidence=0.5)
    flips = finding("cut", "direction_flips", "Ada", (sides,), weight="polish")
    assert one_each([flips, crossed]) == [crossed]


def test_a_finding_that_rests_on_something_is_no_must_and_says_so_once() -> None:
    rests = ("both cameras tilt alike", "the lens is an ordinary one")
    told = replace(ONE, says="Ada looks over Ben's head.", rests_on=rests)
    assert (told.weight, told.confidence) == ("polish", 0.6)
    assert told.says == "Ada looks over Ben's head, if both cameras tilt alike and the lens is an ordinary one."
    assert replace(told, value=3.0).says == told.says
    assert replace(ONE, confidence=1.0).confidence == 0.99


def seen_still(readings: Readings, first: int, stop: int) -> Readings:
    """The same with a picture that repeats over those frames and moves on all others."""
    frames = len(readings.clock)
    dead = np.zeros(frames, np.bool_)
    dead[first:stop] = True
    movement = Series("movement", "px", np.where(dead, 0, 2).astype(np.float32))
    return replace(readings, picture=PictureReadings(dead, movement, (), 0.5))


def kinds(readings: Readings) -> set[tuple[str, str]]:
    return {(f.check, f.kind) for f in run_checks(readings)[0]}


def test_who_is_frozen_is_told_once_and_not_for_a_mouth_and_a_chest_that_stand_too() -> None:
    for readings, other in ((stirring(0.0), ("lipsync", "dead_mouth")), (talking(6.0), ("breath", "still_chest"))):
        assert other in kinds(readings)
        frames = len(readings.clock)
        frozen = kinds(seen_still(readings, 1, frames))
        assert other not in frozen
        assert any(check == "hold" for check, _ in frozen)


def test_a_short_hold_excuses_no_long_line() -> None:
    readings = seen_still(stirring(0.0), 20, 26)
    assert {("lipsync", "dead_mouth"), ("hold", "inside")} <= kinds(readings)


def test_a_hold_that_is_allowed_excuses_nothing() -> None:
    """What nobody tells explains nothing: with more dead frames allowed, the mouth is told."""
    readings = seen_still(stirring(0.0), 1, len(stirring(0.0).clock))
    allowed = {"hold.inside": 9999.0, "hold.ends": 9999.0}
    assert ("lipsync", "dead_mouth") in {(f.check, f.kind) for f in run_checks(readings, allowed)[0]}


def test_nothing_stands_where_there_is_no_picture() -> None:
    assert standing(stirring(0.0), "Ada", Span(3, 9)) == ()
