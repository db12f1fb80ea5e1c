"""Hand-made corrections put over a measurement, and over the next one."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from shotcrit.crit import corrected
from shotcrit.crit.records import Correction
from shotcrit.readings.events import Breath, Phone, Word

WORDS = (Word("But", None, 1.0, 1.2), Word("you", None, 1.2, 1.4), Word("promised", None, 1.4, 2.0), Word("me", None, 2.0, 2.3))


def _fix(event: str, was: dict[str, Any] | None, now: dict[str, Any] | None, name: str = "c1") -> Correction:
    return Correction.model_validate({"id": name, "take": "take1", "event": event, "was": was, "now": now})


def _word(text: str, start_s: float, end_s: float) -> dict[str, Any]:
    return {"text": text, "who": None, "start_s": start_s, "end_s": end_s}


def _said(measured: tuple[Word, ...], *fixes: Correction) -> list[tuple[str, float, float, str | None]]:
    return [(c.event.text, c.event.start_s, c.event.end_s, c.by) for c in corrected.words(measured, fixes)]


DRAG = _fix("word", _word("you", 1.2, 1.4), _word("you", 1.25, 1.5))


def test_a_dragged_word_stands_where_it_was_dragged() -> None:
    assert _said(WORDS, DRAG)[1] == ("you", 1.25, 1.5, "c1")
    assert len(_said(WORDS, DRAG)) == 4


@pytest.mark.parametrize("shift", [-0.1, 0.05, 0.13])
def test_it_stays_there_when_a_new_measurement_moves_the_words(shift: float) -> None:
    again = tuple(replace(w, start_s=w.start_s + shift, end_s=w.end_s + shift) for w in WORDS)
    said = _said(again, DRAG)
    assert ("you", 1.25, 1.5, "c1") in said
    assert sorted(text for text, *_ in said) == ["But", "me", "promised", "you"]


def test_it_stays_there_when_the_new_measurement_does_not_hear_the_word() -> None:
    assert [text for text, *_ in _said((WORDS[0], WORDS[3]), DRAG)] == ["But", "you", "me"]


def test_the_same_label_counts_before_more_common_time() -> None:
    near = (Word("who", None, 1.2, 1.4), Word("you", None, 1.3, 1.6))
    assert [text for text, *_ in _said(near, DRAG)] == ["who", "you"]


def test_deleted_and_added_words_stay_so() -> None:
    gone, new = _fix("word", _word("me", 2.0, 2.3), None, "c2"), _fix("word", None, _word("oh", 0.2, 0.4), "c3")
    again = tuple(replace(w, start_s=w.start_s + 0.04, end_s=w.end_s + 0.04) for w in WORDS)
    assert [text for text, *_ in _said(again, gone, new)] == ["oh", "But", "you", "promised"]


def test_a_deletion_does_not_eat_another_word() -> None:
    gone = _fix("word", _word("me", 2.0, 2.3), None)
    assert len(_said(WORDS[:3], gone)) == 3


def test_phones_belong_to_the_corrected_words() -> None:
    measured = (Phone("Y", None, 1, 1.2, 1.3), Phone("UW", 1, 1, 1.3, 1.4))
    said = [c.event for c in corrected.words(WORDS, [_fix("word", None, _word("oh", 0.2, 0.4))])]
    found = corrected.phones(measured, [_fix("phone", {"phone": "UW", "stress": 1, "start_s": 1.3, "end_s": 1.4}, None)], said)
    assert [(c.event.phone, c.event.word) for c in found] == [("Y", 2)]


def test_a_breath_keeps_its_measured_level_when_it_is_dragged() -> None:
    was = {"kind": "inhale", "start_s": 0.5, "end_s": 0.8}
    (found,) = corrected.breaths([Breath("inhale", 0.5, 0.8, 12.0)], [_fix("breath", was, {**was, "end_s": 0.9, "who": "Oona"})])
    assert (found.event.end_s, found.event.level_db, found.event.who, found.by) == (0.9, 12.0, "Oona", "c1")


@pytest.mark.parametrize(
    ("measured", "expected"), [((96, 168), [98, 168]), ((97, 168), [98, 168]), ((168,), [98, 168]), ((93, 168), [93, 98, 168])]
)
def test_a_moved_cut_is_known_again_within_two_frames(measured: tuple[int, ...], expected: list[int]) -> None:
    assert [c.frame for c in corrected.cuts(measured, [_fix("cut", {"frame": 96}, {"frame": 98})])] == expected
