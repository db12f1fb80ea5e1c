"""Every sentence that a check can make reads as a person would say it: one grammar, held over many values of every maker."""

from __future__ import annotations

import re
from collections.abc import Iterator

import numpy as np
import pytest
from tests.make.limit_cases import bodies, colours, lids, looks, motions, mouths, pictures
from tests.make.limit_cases.case import Case
from tests.make.picture_rows import with_picture

from shotcrit.checks.about import Check
from shotcrit.checks.contact.check import _what_happens, words_of
from shotcrit.checks.cut.meeting import _back, _off
from shotcrit.checks.eyeline.words import Seen, looks_words, target_words, turn_words
from shotcrit.checks.finding import Finding
from shotcrit.checks.registry import all_checks, limits_for
from shotcrit.clock import Span
from shotcrit.geometry.gaze import Miss
from shotcrit.readings.cast import Contact
from shotcrit.sheet import plain

CASES: dict[str, Case] = {**pictures.CASES, **bodies.CASES, **lids.CASES, **colours.CASES, **motions.CASES, **mouths.CASES, **looks.CASES}
CHECKS: dict[str, Check] = {check.ID: check for check in all_checks()}
NOUNS = "conversion|degree|flash|frame|picture|second|stroke|syllable|word"
WRONG = {
    "many of one": rf"(?<![\d.,])1 (?:{NOUNS})e?s\b",
    "one of many": rf"(?<![\d.])(?:[02-9]|\d{{2,}}|\d+\.\d+) (?:{NOUNS})\b(?! of)",
    "a count of nothing": r"\bno (?:frames|degrees|px|seconds|strokes)\b",
    "an asterisk": r"\*",
    "two minus signs": r"[-−–] ?[-−–] ?\d",
    "a percent sign that clings": r"\d%",
    "a word twice": r"\b(\w+) \1\b",
    "room where none belongs": r"  | [,.;:?!](?!\.\.)",
    "a name of the code": r"[a-z]_[a-z]|\bnan\b|\binf\b|\bNone\b",
    "certainty itself": r"\b100 % sure",
    "two stops": r"(?<!\.)\.\.(?!\.)|[.?!;:,][;:,]",
}


def faults(sentence: str) -> list[str]:
    found = [name for name, pattern in WRONG.items() if re.search(pattern, sentence)]
    if not re.match(r"[A-Z“'\d]", sentence):
        found.append("no capital first")
    return found if sentence.endswith((".", "?", "!")) else [*found, "no stop last"]


def ended(words: str) -> str:
    return f"{words[:1].upper()}{words[1:]}."


def said(finding: Finding) -> Iterator[str]:
    yield finding.says
    yield finding.suggest
    yield ended(plain.value(finding))
    yield ended(plain.sureness(finding.confidence))


@pytest.mark.parametrize(
    ("sentence", "fault"),
    [
        ("The last 1 frames hold still.", "many of one"),
        ("The last 7 frame hold still.", "one of many"),
        ("It is no degrees off.", "a count of nothing"),
        ("The *handle* slips.", "an asterisk"),
        ("It is --3 frames late.", "two minus signs"),
        ("It jumps 60% of the width.", "a percent sign that clings"),
        ("It is about about 3 degrees off.", "a word twice"),
        ("Move mouth_left.", "a name of the code"),
        ("Ada looks up", "no stop last"),
    ],
)
def test_the_grammar_finds_what_nobody_would_say(sentence: str, fault: str) -> None:
    assert fault in faults(sentence)


@pytest.mark.parametrize("name", CASES)
def test_what_a_planted_fault_makes_a_check_say(name: str) -> None:
    case, check = CASES[name], CHECKS[name.partition(".")[0]]
    told = check.run(case.plant(case.loud), limits_for(check, {})).findings
    assert told
    assert [(s, faults(s)) for finding in told for s in said(finding) if faults(s)] == []


@pytest.mark.parametrize("frames", [1, 2, 3, 7, 12, 40])
@pytest.mark.parametrize("place", ["head", "inside", "tail"])
def test_dead_frames_of_any_number_anywhere(frames: int, place: str) -> None:
    first = {"head": 1, "inside": 50, "tail": 100 - frames}[place]
    repeats = np.zeros(100, np.bool_)
    repeats[first : first + frames] = True
    check = CHECKS["hold"]
    told = check.run(with_picture(100, repeats=repeats), {**limits_for(check, {}), "ends": 0, "inside": 0}).findings
    assert {f.kind for f in told} >= {place}
    assert [(s, faults(s)) for finding in told for s in said(finding) if faults(s)] == []


MISSES = [
    Miss(float(np.hypot(right, up)), right, up, nearer=nearer, across_depth=depth)
    for right in (-40.0, -1.0, 0.0, 0.6, 12.3)
    for up in (-33.3, -1.04, 0.0, 5.0)
    if right or up
    for nearer, depth in ((False, False), (True, True), (False, True))
]


@pytest.mark.parametrize("error", [0.0, 0.2, 1.0, 3.0, 8.0])
@pytest.mark.parametrize("at", ["camera", "Bram", "lantern.handle"])
def test_misses_of_every_size_way_and_error(error: float, at: str) -> None:
    for gap in MISSES:
        seen = Seen(gap, target_words(at), at == "Bram", error)
        for move in (None, (0.0, 0.0), (1.0, -7.2), (-12.6, 0.2)):
            sentences = [ended(looks_words("Oona", seen)), ended(turn_words("Oona", seen, move))]
            assert [(s, gap, faults(s)) for s in sentences if faults(s)] == []
            if error >= 1.0:
                assert not any(re.search(r"\d\.\d (?:degree|px)", s) for s in sentences)
        if not error:
            assert [s for s in (ended(f"Oona looks {_off(gap)}"), ended(f"turn {_back(gap)}")) if faults(s)] == []


@pytest.mark.parametrize("kind", ["slide", "opens", "sinks", "before_cut"])
@pytest.mark.parametrize(
    ("a", "b"), [("Bram.hand_right", "lantern.handle"), ("Oona.foot_left", "jetty.plank"), ("Oona.chin", "Bram.shoulder_left")]
)
def test_contacts_of_hands_feet_and_things(kind: str, a: str, b: str) -> None:
    sentence = ended(_what_happens(Contact(a=a, b=b, first=1, last=9), kind, "23 mm (12 px)"))
    assert faults(sentence) == []
    assert words_of(b) in sentence or words_of(b) in sentence.replace("The ", "the ")


@pytest.mark.parametrize("confidence", [0.0, 0.5, 0.991, 0.9999, 1.0])
def test_nothing_is_wholly_sure(confidence: float) -> None:
    finding = Finding("hold", "tail", None, Span(0, 1), 1, "frames", 1, "must", confidence, "It holds", "Move it", "guess: a test")
    assert round(finding.confidence * 100) < 100
    assert "100 %" not in plain.measure_of(finding)
