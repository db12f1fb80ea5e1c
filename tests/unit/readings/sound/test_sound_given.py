"""Lines files: what people write, and what they should not."""

from __future__ import annotations

from pathlib import Path

import pytest

from shotcrit.errors import InputError
from shotcrit.readings.sound.given import GivenWord
from shotcrit.readings.sound.lines_file import parse_lines, read_lines
from shotcrit.readings.sound.written import split_words


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
        ("Ben (off): no", "Ben", "no"),
        ("BRAM (V.O.) (CONT'D): no", "BRAM", "no"),
        ("OONA:now", "OONA", "now"),
        ("Old Ben:now", "Old Ben", "now"),
        (":now", None, "now"),
        (" : Listen: now", None, "Listen"),
        ("We go at 10:30", None, "We"),
        ("Come at Ten:30", None, "Come"),
        ("http://nowhere", None, "http"),
        ("I told you:now", None, "I"),
        ("Élodie: oui", "Élodie", "oui"),
    ],
)
def test_what_counts_as_a_name(row: str, who: str | None, first: str) -> None:
    line = parse_lines(row)[0]
    assert (line.who, line.words[0].text) == (who, first)


@pytest.mark.parametrize(
    ("text", "expected", "directions"),
    [
        ("<laugh> Well *sighs* now", ["Well", "now"], ("<laugh>", "*sighs*")),
        ("[whispers] Come (V.O.) here.", ["Come", "here"], ("[whispers]", "(V.O.)")),
        ("*sobbing* it was me", ["it", "was", "me"], ("*sobbing*",)),
        ("I see. *turns away* Fine. *nods*", ["I", "see", "Fine"], ("*turns away*", "*nods*")),
        ("*sighs (softly)* no (to Ben (softly))", ["no"], ("*sighs (softly)*", "(to Ben (softly))")),
        ("I *really* mean it", ["I", "really", "mean", "it"], ()),
        ("*Never* again. **Now** go, *now*", ["Never", "again", "Now", "go", "now"], ()),
        ("I will *cry* for you. *Clear* the deck", ["I", "will", "cry", "for", "you", "Clear", "the", "deck"], ()),
        ("if 3 < 5 and 7 > 2", ["if", "3", "5", "and", "7", "2"], ()),
    ],
)
def test_stage_directions_are_not_spoken(text: str, expected: list[str], directions: tuple[str, ...]) -> None:
    (line,) = parse_lines(text)
    assert ([w.text for w in line.words], line.directions) == (expected, directions)


PAGE = """INT. BOAT SHED - NIGHT

The lamp flickers.

OONA (V.O.)
(under her breath)
You said the lamp
would burn all night.

BRAM (CONT'D)
It did. STOP!

OONA
No.
"""


def test_a_page_of_a_screenplay() -> None:
    lines = parse_lines(PAGE)
    assert [(x.who, " ".join(w.text for w in x.words)) for x in lines] == [
        ("OONA", "You said the lamp would burn all night"), ("BRAM", "It did STOP"), ("OONA", "No"),
    ]  # fmt: skip
    assert lines[0].directions == ("INT. BOAT SHED - NIGHT", "The lamp flickers.", "(V.O.)", "(under her breath)")


def test_names_on_rows_of_their_own_without_blank_rows() -> None:
    assert [(x.who, x.text) for x in parse_lines("OONA\nYou said so.\nBRAM\nIt did.")] == [("OONA", "You said so."), ("BRAM", "It did.")]


@pytest.mark.parametrize(
    "text", ["I KNOW\nYOU KNOW", "NO!\nI said no.", "Oona: Look.\n\nSTOP\nIt burns.", "WHAT IS IT NOW MY DEAR\nNothing."]
)
def test_shouted_rows_are_no_names(text: str) -> None:
    rows = [row for row in text.splitlines() if row]
    assert len(parse_lines(text)) == len(rows)
    assert {x.who for x in parse_lines(text)} <= {None, "Oona"}


SUBRIP = """1
00:00:01,500 --> 00:00:03,250
<i>You said</i> the lamp
would burn.

2
00:00:03,500 --> 00:00:05,000 X1:10
- OONA: It did.
- {\\an8}Until 1984

3
0:0:6.5 --> 0:1:8
: Listen: the wind
1984
"""


def test_subrip() -> None:
    lines = parse_lines(SUBRIP)
    assert [(x.who, " ".join(w.text for w in x.words), x.start_s, x.end_s, x.directions) for x in lines] == [
        (None, "You said the lamp would burn", 1.5, 3.25, ()),
        ("OONA", "It did", 3.5, 5.0, ()),
        (None, "Until 1984", 3.5, 5.0, ()),
        (None, "Listen the wind 1984", 6.5, 68.0, ()),
    ]


@pytest.mark.parametrize(
    "bad", ["1\n00:00:03,000 --> 00:00:02,000\nx\n", "1\n00:00:03,000 --> soon\nx\n", "1\n00:00:01,000 --> 00:00:02,000\n\n"]
)
def test_subrip_that_cannot_be_read_is_one_sentence(bad: str) -> None:
    with pytest.raises(InputError, match=r"^talk\.srt") as caught:
        parse_lines(bad, name="talk.srt")
    assert "\n" not in str(caught.value)


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
