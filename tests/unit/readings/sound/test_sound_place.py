"""Finding lines in a string of heard phones, and spreading phones over time: all by hand-made answers."""

from __future__ import annotations

import itertools

import numpy as np
import pytest

from shotcrit.readings.sound import place
from shotcrit.readings.sound.listen import Heard, chunks
from shotcrit.readings.sound.place import Place, codes, place_lines
from shotcrit.readings.sound.waveform import RATE, Samples

KITE = ["DH", "AH", "K", "AY", "T", "IH", "Z", "AH", "P"]
BOAT = ["W", "IY", "L", "UW", "Z", "DH", "AH", "B", "OW", "T"]
NOISE = ["S", "AH", "M", "TH", "IH", "NG", "EH", "L", "S"]


def heard(*parts: list[str]) -> list[Heard]:
    phones = [p for part in parts for p in part]
    return [Heard(p, i * 0.1, i * 0.1 + 0.1) for i, p in enumerate(phones)]


def test_lines_in_order_with_other_speech_between() -> None:
    places = place_lines([codes(KITE), codes(BOAT)], heard(NOISE, KITE, NOISE, BOAT, NOISE))
    assert places == [Place(9, 18, 1.0), Place(27, 37, 1.0)]


def test_a_missing_line_is_missing() -> None:
    assert place_lines([codes(KITE), codes(BOAT)], heard(NOISE, BOAT)) == [None, Place(9, 19, 1.0)]
    assert place_lines([codes(KITE), codes(BOAT)], heard(KITE, NOISE)) == [Place(0, 9, 1.0), None]


def test_swapped_lines_are_both_found() -> None:
    assert place_lines([codes(KITE), codes(BOAT)], heard(BOAT, NOISE, KITE)) == [Place(19, 28, 1.0), Place(0, 10, 1.0)]


def test_the_same_line_twice_takes_two_places() -> None:
    assert place_lines([codes(KITE), codes(KITE)], heard(KITE, NOISE, KITE)) == [Place(0, 9, 1.0), Place(18, 27, 1.0)]
    once = place_lines([codes(KITE), codes(KITE)], heard(KITE))
    assert sorted(p is None for p in once) == [False, True]


def test_one_phone_misheard_left_out_or_too_many_still_fits() -> None:
    for wrong in (["DH", "AH", "G", "AY", "T", "IH", "Z", "AH", "P"], KITE[:2] + KITE[3:], [*KITE[:5], "S", *KITE[5:]]):
        (place,) = place_lines([codes(KITE)], heard(NOISE, wrong, NOISE))
        assert place is not None
        assert (place.first, place.stop) == (9, 9 + len(wrong))
        assert 0.7 < place.fit < 1


def test_nothing_heard() -> None:
    assert place_lines([codes(KITE)], []) == [None]
    assert place_lines([codes(KITE)], heard(NOISE)) == [None]
    assert place_lines([], heard(NOISE)) == []


def test_a_line_with_more_to_say_than_was_heard_is_not_looked_for(monkeypatch) -> None:
    """Its gain could not reach what a line needs, though all that was heard were its own; laying 100,000 phones takes half a minute."""
    monkeypatch.setattr(place, "_lay", lambda *_: pytest.fail("laid though it cannot fit"))
    assert place_lines([codes(KITE * 10_000)], heard(KITE)) == [None]


def test_a_line_twice_as_long_as_what_was_heard_is_still_looked_for() -> None:
    """Half of a line may be heard at its best: less than twice the phones, all of them right."""
    assert place_lines([codes(KITE + NOISE[:4])], heard(KITE)) != [None]


def test_long_sound_is_cut_where_it_is_quiet() -> None:
    samples: Samples = np.ones(30 * RATE, np.float32)
    samples[19 * RATE : 19 * RATE + RATE // 10] = 0
    parts = chunks(samples, 20.0)
    assert parts[0][0] == 0
    assert parts[-1][1] == len(samples)
    assert all(a[1] == b[0] for a, b in itertools.pairwise(parts))
    assert 19.0 <= parts[0][1] / RATE <= 19.1
