"""What becomes of findings, and how they are known again."""

from __future__ import annotations

import pytest
from tests.make.reviews import Desktop, finding, take

from shotcrit.crit import findings as acts
from shotcrit.crit.findings import Judged, finding_key, finding_keys, got_worse, judged, sighting, under_markers
from shotcrit.crit.records import Decision, Marker, Note, Rewording


def _open(found: object) -> Judged:
    return Judged(finding_key(found), found, None, "open")  # type: ignore[arg-type]


def _again(desk: Desktop, *found: object, in_take: str = "take1", map_=lambda frame: frame) -> tuple[Judged, ...]:  # type: ignore[no-untyped-def]
    return judged(found, desk.all(Decision), in_take, lambda _old: map_)  # type: ignore[arg-type]


def test_the_key_names_check_kind_person_and_frames_and_nothing_else() -> None:
    assert finding_key(finding(value=7)) == finding_key(finding(value=9))
    others = [finding(first=256), finding(last=262), finding(kind="head"), finding(check="cut"), finding(who="Oona")]
    assert len({finding_key(f) for f in [finding(), *others]}) == 6


def test_dismissed_stays_dismissed_on_the_next_measurement() -> None:
    desk = Desktop()
    desk.do(acts.dismiss_finding(desk, _open(finding()), "take1", "d1", "the hold is wanted"))
    (item,) = _again(desk, finding())
    assert (item.state, item.worse) == ("dismissed", False)
    assert item.decision is not None
    assert item.decision.reason == "the hold is wanted"


@pytest.mark.parametrize(("value", "state"), [(6, "dismissed"), (7, "dismissed"), (7.9, "dismissed"), (8, "open"), (12, "open")])
def test_dismissed_comes_back_when_it_got_worse_by_a_frame(value: float, state: str) -> None:
    desk = Desktop()
    desk.do(acts.dismiss_finding(desk, _open(finding()), "take1", "d1", "wanted"))
    (item,) = _again(desk, finding(value=value))
    assert (item.state, item.worse) == (state, state == "open")


@pytest.mark.parametrize(
    ("before", "after", "limit", "worse"),
    [
        (0.40, 0.38, 1.0, False),  # lips meet for less than the limit: lower is worse, but not by a tenth of the limit
        (0.40, 0.25, 1.0, True),
        (0.40, 0.70, 1.0, False),
        (-3.0, -4.5, 2.0, True),  # early by more
        (-3.0, 3.0, 2.0, True),  # was early, is late now: another fault
        (14.0, 13.0, 5.0, False),
        (14.0, 15.3, 5.0, False),
        (14.0, 15.5, 5.0, True),
    ],
)
def test_worse_is_further_past_the_limit_on_its_bad_side(before: float, after: float, limit: float, worse: bool) -> None:
    seen = sighting(finding(value=before, limit=limit, unit="degrees"), "take1")
    assert got_worse(seen, finding(value=after, limit=limit, unit="degrees")) is worse


def test_a_dismissed_finding_is_known_again_on_moved_frames_of_the_next_take() -> None:
    desk = Desktop()
    desk.do(acts.dismiss_finding(desk, _open(finding()), "take1", "d1", "wanted"))
    (moved,) = _again(desk, finding(first=277, last=283), in_take="take2", map_=lambda frame: frame + 20)
    (gone,) = _again(desk, finding(first=257, last=263), in_take="take2", map_=lambda frame: None)
    assert moved.state == "dismissed"
    assert gone.state == "open"


def test_each_decision_counts_once_and_for_the_finding_that_shares_most_frames() -> None:
    desk = Desktop()
    desk.do(acts.dismiss_finding(desk, _open(finding(first=100, last=109)), "take1", "d1", "wanted"))
    one, two = _again(desk, finding(first=98, last=102), finding(first=103, last=112))
    assert (one.state, two.state) == ("open", "dismissed")


def test_other_checks_and_people_are_not_meant() -> None:
    desk = Desktop()
    desk.do(acts.dismiss_finding(desk, _open(finding(who="Oona")), "take1", "d1", "wanted"))
    assert [item.state for item in _again(desk, finding(who="Bram"), finding(who="Oona", kind="head"))] == ["open", "open"]


def test_taking_makes_a_note_with_frames_and_numbers() -> None:
    desk = Desktop()
    item = _open(finding())
    note = acts.note_from(item, take(), "n1")
    desk.do(acts.take_finding(desk, item, note, "d1"))
    (stored,) = desk.all(Note)
    assert (stored.first, stored.last, stored.weight) == (257, 263, "must")
    assert stored.what == "The last seven frames repeat."
    assert stored.suggest == "Keep her settling through to the cut."
    assert stored.numbers is not None
    assert (stored.numbers.value, stored.numbers.unit, stored.numbers.limit) == (7, "frames", 1)
    assert stored.finding == finding_key(finding())
    assert _again(desk, finding())[0].state == "taken"


def test_a_taken_finding_is_judged_anew_on_the_next_take() -> None:
    desk = Desktop()
    desk.do(acts.take_finding(desk, _open(finding()), acts.note_from(_open(finding()), take(), "n1"), "d1"))
    (item,) = _again(desk, finding(), in_take="take2")
    assert item.state == "open"
    assert item.decision is not None


def test_a_reworded_finding_is_taken_in_the_reviewers_words() -> None:
    desk = Desktop()
    words = Rewording.model_validate({"says": "She freezes.", "weight": "polish", "first": 258})
    desk.do(acts.reword_finding(desk, _open(finding()), "take1", "d1", words))
    (item,) = _again(desk, finding())
    assert item.state == "edited"
    note = acts.note_from(item, take(), "n1")
    assert (note.what, note.weight, note.first, note.last) == ("She freezes.", "polish", 258, 263)
    assert note.suggest == "Keep her settling through to the cut."


def test_bringing_back_forgets_the_decision() -> None:
    desk = Desktop()
    desk.do(acts.dismiss_finding(desk, _open(finding()), "take1", "d1", "wanted"))
    desk.do(acts.restore_finding(desk, _again(desk, finding())[0], "take1"))
    assert _again(desk, finding())[0].state == "open"
    assert desk.all(Decision) == ()


def test_findings_lie_under_a_marker_within_half_a_second_nearest_first() -> None:
    marker = Marker(id="m1", take="take1", pressed=106, frame=100)
    on, near, edge, far = finding(98, 102), finding(105, 110), finding(80, 88), finding(113, 120)
    keys = under_markers([marker], [far, edge, near, on], 24.0)["m1"]
    assert keys == tuple(finding_key(f) for f in (on, near, edge))


def test_twins_have_keys_of_their_own_that_outlast_a_new_measurement() -> None:
    lamp, oil = finding(says="The lamp was not heard."), finding(says="The oil was not heard.")
    keys = finding_keys([lamp, oil])
    assert len({*keys, *finding_keys([lamp, lamp, oil])}) == 3
    assert keys[0] == finding_key(lamp)
    assert finding_keys([oil, lamp]) == keys[::-1]


def test_what_was_decided_on_a_twin_stays_with_it() -> None:
    lamp, oil = finding(says="The lamp was not heard."), finding(says="The oil was not heard.")
    desk = Desktop()
    desk.do(acts.dismiss_finding(desk, _open(oil), "take1", "d1", "it was cut"))
    assert [item.state for item in _again(desk, lamp, oil)] == ["open", "dismissed"]
    assert [item.state for item in _again(desk, oil, lamp)] == ["dismissed", "open"]


def test_a_decision_of_an_older_crit_knows_no_words_and_goes_to_one_of_the_twins() -> None:
    lamp, oil = finding(says="The lamp was not heard."), finding(says="The oil was not heard.")
    old = sighting(lamp, "take1").model_copy(update={"says": ""})
    kept = Decision(id="d1", shot="shot1", finding=old, verdict="dismissed", reason="it was cut")
    assert [item.decision for item in judged([lamp, oil], [kept], "take1", lambda _old: lambda frame: frame)] == [kept, None]
