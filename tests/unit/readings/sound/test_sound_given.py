"""Lines files: what people write, and what they should not."""

from __future__ import annotations

from pathlib import Path

import pytest

from shotcrit.errors import InputError
from shotcrit.readings.sound.given import GivenWord, parse_lines, read_lines, split_words


def words(text: str) -> list[str]:
    return [w.text for w in split_words(text, where="here")]


def test_name_and_words() -> None:
    ada, plain = parse_lines("Ada: The kite is up.\n\n# a remark\nIt is high.\n")
    assert (ada.who, ada.text, [w.text for w in ada.words]) == ("Ada", "The kite is up.", ["The", "kite", "is", "up"])
    assert (plain.who, plain.text) == (None, "It is high.")
    assert ada.start_s is None


@pytest.mark.parametrize(
    ("row", "who", "first"),
    [
        ("Ada O'Neil: now", "Ada O'Neil", "now"),
        ("10:30 is late", None, "10:30"),
        (": Listen: the wind", None, "Listen"),
        ("Ben (off): no", None, "Ben"),
        ("Élodie: oui", "Élodie", "oui"),
    ],
)
def test_what_counts_as_a_name(row: str, who: str | None, first: str) -> None:
    line = parse_lines(row)[0]
    assert (line.who, line.words[0].text) == (who, first)


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("Well \u2014 no...maybe\u2026 yes", ["Well", "no", "maybe", "yes"]),
        ("\u201cStop,\u201d she said.", ["Stop", "she", "said"]),
        ("'bout talkin' dogs' isn\u2019t 'quoted'", ["'bout", "talkin'", "dogs'", "isn't", "quoted"]),
        ("(laughs) Oh [sighs] no (to Ben (softly)) go", ["Oh", "no", "go"]),
        ("twenty-one, well-known!", ["twenty-one", "well-known"]),
        ("*really* _now_ 5% & $3.50", ["really", "now", "5%", "&", "$3.50"]),
        ("-- ... !", []),
    ],
)
def test_words_of_a_speech(text: str, expected: list[str]) -> None:
    assert words(text) == expected


def test_a_pronunciation_is_taken() -> None:
    line = parse_lines("Ada: Hold the [kite|k AY1 t], Ben!")[0]
    assert line.text == "Ada: Hold the kite, Ben!".removeprefix("Ada: ")
    assert line.words[2] == GivenWord("kite", ("K", "AY1", "T"))
    assert [w.text for w in line.words] == ["Hold", "the", "kite", "Ben"]


@pytest.mark.parametrize("bad", ["[kite|K QQ T]", "[kite|]", "[|K AY T]", "[kite|K1 AY T]"])
def test_a_wrong_pronunciation_is_one_sentence(bad: str) -> None:
    with pytest.raises(InputError, match="line 1") as caught:
        parse_lines(f"Ada: {bad}")
    assert "\n" not in str(caught.value)


VTT = """WEBVTT

NOTE made by hand

1
00:01.500 --> 00:03.250 align:left
<v Ada>Hold <i>tight</i></v>
<v.loud Ben>No [kite|K AY T] &amp; no</v>

01:00:05.000 --> 01:00:06.000
plain
"""


def test_webvtt_cues_bound_the_search_and_voices_speak() -> None:
    ada, ben, plain = parse_lines(VTT)
    assert (ada.who, ada.start_s, ada.end_s, [w.text for w in ada.words]) == ("Ada", 1.5, 3.25, ["Hold", "tight"])
    assert (ben.who, ben.start_s, ben.words[1]) == ("Ben", 1.5, GivenWord("kite", ("K", "AY", "T")))
    assert (plain.who, plain.start_s, plain.end_s) == (None, 3605.0, 3606.0)


@pytest.mark.parametrize(
    "bad",
    [
        "WEBVTT\n\n00:03.000 --> 00:02.000\nx\n",
        "WEBVTT\n\n00:01.000 --> 00:02.000\nx\n\n00:bad --> 00:04.000\ny\n",
        "WEBVTT\n",
        "",
        "# only a remark\n",
        "(whistles)\n",
        "a" * 200,
    ],
)
def test_no_lines_is_one_sentence(bad: str) -> None:
    with pytest.raises(InputError) as caught:
        parse_lines(bad, name="talk.vtt")
    assert str(caught.value).startswith("talk.vtt")
    assert "\n" not in str(caught.value)


def test_too_many_words() -> None:
    with pytest.raises(InputError, match="over 20000 words"):
        parse_lines("no " * 20_001)


def test_reading_a_file_with_a_byte_order_mark(tmp_path: Path) -> None:
    path = tmp_path / "lines.txt"
    path.write_bytes("\ufeffAda: Café.\r\nBen: No.\r\n".encode())
    assert [(x.who, x.words[0].text) for x in read_lines(path)] == [("Ada", "Café"), ("Ben", "No")]


@pytest.mark.parametrize(
    ("written", "spoken"),
    [
        ("It is -5 degrees", "It is minus 5 degrees"),
        ("2 1/2 dogs", "2 and a half dogs"),
        ("2\u00bd dogs", "2 and a half dogs"),
        ("a 1/2 hour, 3/4 full", "a a half hour three quarters full"),
        ("on 1/2/2020", "on 1 2 2020"),
        ("well-known -- no", "well-known no"),
    ],
)
def test_signs_that_stand_for_words_of_their_own(written: str, spoken: str) -> None:
    (line,) = parse_lines(written)
    assert " ".join(w.text for w in line.words) == spoken
    assert line.text == written
