"""How words are said: dictionary, numbers, rules, network."""

from __future__ import annotations

import pytest

from shotcrit.readings.sound.given import GivenWord
from shotcrit.readings.sound.letters import guess_phones, with_stress
from shotcrit.readings.sound.numbers import cardinal, ordinal, spoken_number, year
from shotcrit.readings.sound.phoneset import PHONES, VOWELS, likeness, split_stress
from shotcrit.readings.sound.pronounce import ways_to_say


def said(word: str) -> str:
    return " ".join(ways_to_say(GivenWord(word))[0])


def test_the_set_has_39_phones_of_which_15_are_vowels() -> None:
    assert (len(PHONES), len(VOWELS)) == (39, 15)  # CMU Pronouncing Dictionary, its README
    assert all(kind.least_ms <= kind.inherent_ms for kind in PHONES.values())


def test_likeness_is_highest_for_the_same_phone_and_symmetric() -> None:
    for a in PHONES:
        assert likeness(a, a) == 1
        assert all(likeness(a, b) < 1 and likeness(a, b) == likeness(b, a) for b in PHONES if b != a)
    assert likeness("P", "B") > likeness("P", "S") > likeness("P", "AA")


@pytest.mark.parametrize("symbol", ["", "Q", "K1", "AA3", "aa"])
def test_no_phone(symbol: str) -> None:
    with pytest.raises(KeyError):
        split_stress(symbol)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("0", "zero"), ("13", "thirteen"), ("21st", "twenty first"), ("100", "one hundred"), ("1,250", "one thousand two hundred fifty"),
        ("1984", "nineteen eighty four"), ("1905", "nineteen oh five"), ("1900", "nineteen hundred"), ("2007", "two thousand seven"),
        ("3.14", "three point one four"), ("50%", "fifty percent"), ("$5", "five dollars"), ("$1", "one dollar"), ("10:30", "ten thirty"),
        ("7:00", "seven o'clock"), ("7:05", "seven oh five"), ("007", "zero zero seven"), ("90s", "nineties"), ("20th", "twentieth"),
    ],
)  # fmt: skip
def test_numbers(text: str, words: str) -> None:
    assert spoken_number(text) == words.split()


@pytest.mark.parametrize("text", ["", "x1", "1.2.3", "--", "١٢"])
def test_no_number(text: str) -> None:
    assert spoken_number(text) is None


def test_number_words_at_their_seams() -> None:
    assert [" ".join(cardinal(n)) for n in (19, 20, 99, 1000, 10**6)] == [
        "nineteen",
        "twenty",
        "ninety nine",
        "one thousand",
        "one million",
    ]
    assert [" ".join(ordinal(n)) for n in (1, 2, 3, 12, 30, 101)] == [
        "first",
        "second",
        "third",
        "twelfth",
        "thirtieth",
        "one hundred first",
    ]
    assert " ".join(year(2010)) == "two thousand ten"


@pytest.mark.parametrize(
    ("word", "phones"),
    [
        ("lantern", "L AE1 N T ER0 N"),
        ("Lantern", "L AE1 N T ER0 N"),
        ("café", "K AH0 F EY1"),
        ("FBI", "EH1 F B IY1 AY1"),
        ("nooooo", "N OW1"),
        ("Bram's", "B R AE1 M Z"),
        ("psst", "P S T"),
        ("H2O", "EY1 CH T UW1 OW1"),
        ("&", "AH0 N D"),
    ],
)
def test_words(word: str, phones: str) -> None:
    assert said(word) == phones


def test_alternatives_are_all_handed_on() -> None:
    assert {"R EH1 D", "R IY1 D"} == {" ".join(way) for way in ways_to_say(GivenWord("read"))}


def test_what_was_typed_wins_and_gets_the_missing_digits() -> None:
    assert ways_to_say(GivenWord("read", ("R", "IY", "D"))) == (("R", "IY1", "D"),)
    assert ways_to_say(GivenWord("kite", ("K", "AY2", "T"))) == (("K", "AY2", "T"),)


def test_a_name_in_no_dictionary_is_guessed_offline() -> None:
    ways = guess_phones("skjoldmar")
    assert 1 <= len(ways) <= 2
    for way in ways:
        assert {split_stress(p)[0] for p in way} <= set(PHONES)
        assert any(p.endswith("1") for p in way)


def test_a_stutter_starts_with_the_word_s_own_sound() -> None:
    assert said("b-b-but").endswith("B AH1 T")
    assert said("b-b-but").startswith("B ")


def test_stress_is_put_on_given_phones() -> None:
    assert with_stress("photograph", ("F", "OW", "T", "AH", "G", "R", "AE", "F")) == ("F", "OW1", "T", "AH0", "G", "R", "AE2", "F")
    assert with_stress("x", ("S",)) == ("S",)
