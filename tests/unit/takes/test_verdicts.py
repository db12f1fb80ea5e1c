from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from tests.make.two_takes import a_map, as_it_was, changes, finding, moved_from, take, with_value, without

from shotcrit.checks.finding import NotMeasured
from shotcrit.clock import FrameClock, Span
from shotcrit.crit.findings import finding_keys, sighting
from shotcrit.crit.records import Decision, Note
from shotcrit.readings.picture.glance import HIGH, WIDE
from shotcrit.takes.verdicts import Asked, Followed, Verdict, follow

OLD = take()


def _of(followed: Followed, check: str) -> Verdict:
    return next(v for v in followed.verdicts if v.check == check)


def test_the_same_take_again_changes_nothing_and_has_nothing_new() -> None:
    followed = follow(OLD, OLD, as_it_was(), changes())
    assert [v.verdict for v in followed.verdicts] == ["unchanged"] * len(OLD.findings)
    assert followed.new_findings == ()


def test_what_is_no_longer_found_has_moved_only_where_something_changed() -> None:
    mended = without(OLD, "eyeline")
    look = finding(OLD, "eyeline").span
    assert _of(follow(OLD, mended, as_it_was(), changes()), "eyeline").verdict == "unchanged"
    moved = _of(follow(OLD, mended, as_it_was(), changes(264, (look.start, look.last))), "eyeline")
    assert (moved.verdict, moved.new and moved.new.value) == ("moved", None)
    assert moved.says == "It was 14.2° too high, and is no longer found (limit 5)."


@pytest.mark.parametrize(("value", "verdict"), [(14.0, "unchanged"), (9.0, "moved"), (20.0, "worse"), (float("nan"), "cannot tell")])
def test_a_value_has_moved_only_beyond_its_error(value: float, verdict: str) -> None:
    everywhere = changes(264, (0, 263))
    assert _of(follow(OLD, with_value(OLD, "eyeline", value), as_it_was(), everywhere), "eyeline").verdict == verdict


def test_a_value_that_differs_where_nothing_changed_is_told_as_unchanged() -> None:
    assert _of(follow(OLD, with_value(OLD, "eyeline", 9.0), as_it_was(), changes()), "eyeline").verdict == "unchanged"


def test_what_could_not_be_measured_again_is_not_called_mended() -> None:
    everywhere = changes(264, (0, 263))
    unseen = replace(without(OLD, "eyeline"), not_measured=(NotMeasured("eyeline", "Oona", "eyes that are seen at 1075 to 1080"),))
    told = _of(follow(OLD, unseen, as_it_was(), everywhere), "eyeline")
    assert told.verdict == "cannot tell"
    assert "eyes that are seen" in told.says
    elsewhere = replace(unseen, not_measured=(NotMeasured("eyeline", "Oona", "eyes that are seen at 1200 to 1210"),))
    assert _of(follow(OLD, elsewhere, as_it_was(), everywhere), "eyeline").verdict == "moved"


def test_what_was_measured_from_marks_cannot_be_told_without_them() -> None:
    bare = without(OLD, "eyeline")
    bare = replace(bare, readings=replace(bare.readings, acting=()))
    assert _of(follow(OLD, bare, as_it_was(), changes(264, (0, 263))), "eyeline").verdict == "cannot tell"


def test_a_map_that_is_not_sure_calls_nothing_mended() -> None:
    unsure = replace(as_it_was(), confidence=np.full(264, 0.1, np.float32))
    assert _of(follow(OLD, without(OLD, "eyeline"), unsure, changes(264, (0, 263))), "eyeline").verdict == "cannot tell"


def test_what_rests_on_marks_that_nobody_confirmed_is_not_judged() -> None:
    fault = replace(finding(OLD, "eyeline"), span=Span(200, 206))
    new = replace(without(OLD, "eyeline"), findings=(*without(OLD, "eyeline").findings, fault))
    everywhere = changes(264, (0, 263))
    doubted = follow(OLD, new, as_it_was(), everywhere, doubtful=frozenset({("Oona", "eyes")}))
    told = _of(doubted, "eyeline")
    assert (told.verdict, doubted.new_findings) == ("cannot tell", ())
    assert "confirm the marks of Oona" in told.says
    assert follow(OLD, new, as_it_was(), everywhere, doubtful=frozenset({("Bram", "eyes")})).new_findings == (fault,)


def test_what_is_counted_in_frames_is_compared_as_time_at_another_rate() -> None:
    twice = FrameClock.steady(OLD.readings.clock.rate * 2, 528)
    tail = replace(finding(OLD, "hold"), span=Span(514, 528), value=14)
    new = replace(OLD, readings=replace(OLD.readings, clock=twice), findings=(tail,))
    way = np.repeat(np.arange(264), 2)
    assert _of(follow(OLD, new, a_map(way), changes(528)), "hold").verdict == "unchanged"


def test_a_shorter_dead_tail_is_counted() -> None:
    shorter = with_value(OLD, "hold", 3)
    told = _of(follow(OLD, shorter, as_it_was(), changes()), "hold")
    assert (told.verdict, told.new and told.new.value) == ("moved", 3)
    assert told.says == "From 7 frames to 3 frames (limit 1), and still past it."


def test_dead_frames_under_a_counter_are_not_called_mended() -> None:
    painted = np.zeros((HIGH, WIDE), np.bool_)
    painted[-3:, :8] = True
    counter = replace(changes(), painted=painted)
    told = _of(follow(OLD, with_value(OLD, "hold", 3), as_it_was(), counter), "hold")
    assert told.verdict == "cannot tell"
    assert "such as a counter" in told.says


def test_frames_that_are_gone_cannot_be_judged() -> None:
    look = finding(OLD, "eyeline").span
    way = np.delete(np.arange(264), np.s_[look.start - 2 : look.stop + 2])
    left = without(without(OLD, "eyeline"), "contact")
    new = replace(left, findings=moved_from(left.findings, look.start, len(way) - 264))
    followed = follow(OLD, new, a_map(way), changes(len(way)))
    told = _of(followed, "eyeline")
    assert (told.verdict, told.new) == ("cannot tell", None)
    assert "not in the new take" in told.says


def test_a_new_fault_stands_apart_and_an_old_one_does_not() -> None:
    fault = replace(finding(OLD, "lipsync"), span=Span(200, 202), who="Bram")
    new = replace(OLD, findings=(*OLD.findings, fault))
    assert follow(OLD, new, as_it_was(), changes(264, (198, 204))).new_findings == (fault,)


def test_findings_are_followed_to_their_new_frames() -> None:
    way = np.concatenate([np.arange(50), [49] * 12, np.arange(50, 264)])
    new = replace(OLD, findings=moved_from(OLD.findings, 50, 12))
    followed = follow(OLD, new, a_map(way), changes(len(way)))
    assert followed.new_findings == ()
    look = _of(followed, "eyeline")
    assert (look.new and look.new.span.start, look.verdict) == (finding(OLD, "eyeline").span.start + 12, "unchanged")


def _note(name: str, first: int, last: int, **fields: object) -> Note:
    return Note(id=name, take="t1", first=first, last=last, **fields)  # type: ignore[arg-type]


def test_a_note_that_no_check_stands_behind_is_answered_by_what_changed() -> None:
    notes = (_note("n1", 10, 20, what="slower"), _note("n2", 120, 130, what="higher"))
    followed = follow(OLD, OLD, as_it_was(), changes(264, (118, 132)), Asked(notes))
    told = {v.note: v for v in followed.verdicts if v.note}
    assert (told["n1"].verdict, told["n2"].verdict) == ("unchanged", "cannot tell")
    assert told["n1"].says.startswith("Nothing changed here")
    assert told["n2"].says == "The picture changed here; look whether it does what was asked."


def test_a_note_of_a_finding_is_measured_again_and_told_once() -> None:
    key = dict(zip((f.check for f in OLD.findings), finding_keys(OLD.findings), strict=True))["eyeline"]
    look = finding(OLD, "eyeline").span
    followed = follow(
        OLD,
        without(OLD, "eyeline"),
        as_it_was(),
        changes(264, (look.start, look.last)),
        Asked((_note("n1", look.start, look.last, finding=key),)),
    )
    about = [v for v in followed.verdicts if v.check == "eyeline"]
    assert [(v.note, v.verdict) for v in about] == [("n1", "moved")]


def test_praise_that_may_be_lost_is_told_first() -> None:
    notes = (_note("n1", 10, 20, weight="must"), _note("n2", 240, 250, weight="keep"), _note("n3", 30, 40, weight="keep"))
    followed = follow(OLD, OLD, as_it_was(), changes(264, (238, 252)), Asked(notes))
    assert followed.verdicts[0].note == "n2"
    assert followed.verdicts[0].says.startswith("You praised this.")
    assert next(v for v in followed.verdicts if v.note == "n3").verdict == "unchanged"


def test_findings_that_were_put_away_stay_away() -> None:
    seen = sighting(finding(OLD, "breath"), "t1")
    put_away = Decision(id="d1", shot="s1", finding=seen, verdict="dismissed", reason="meant")
    followed = follow(OLD, OLD, as_it_was(), changes(), Asked(decisions=(put_away,), take="t1"))
    assert "breath" not in {v.check for v in followed.verdicts}
