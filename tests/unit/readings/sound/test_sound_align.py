"""Lines in real (synthetic) speech: found, missing, wrong, swapped, surplus; silence, noise and very short sound."""

from __future__ import annotations

import functools
import itertools

import numpy as np
import pytest
from tests.make.voices import RATE, SENTENCES, Samples, say

from shotcrit.errors import Stopped
from shotcrit.progress import Quiet, StopAfter
from shotcrit.readings.sound import force
from shotcrit.readings.sound.align import align_lines
from shotcrit.readings.sound.force import align_words
from shotcrit.readings.sound.lines_file import parse_lines
from shotcrit.readings.sound.listen import Listened, listen
from shotcrit.readings.sound.pronounce import ways_to_say
from shotcrit.readings.sound.spoken import Spoken

GAP = np.zeros(RATE // 2, np.float32)


@functools.cache
def talk() -> tuple[Samples, tuple[float, ...]]:
    """Sentences 0, 3, 7 with half a second between, and where each starts."""
    parts, starts, at = [], [], 0.0
    for index in (0, 3, 7):
        samples = say(SENTENCES[index], "flite_rms").samples
        starts.append(at)
        parts += [samples, GAP]
        at += (len(samples) + len(GAP)) / RATE
    return np.concatenate(parts), tuple(starts)


def heard(*lines: str) -> Spoken:
    return align_lines(talk()[0], parse_lines("\n".join(lines)))


def test_lines_in_order_are_found_where_they_are() -> None:
    spoken = heard(f"Ada: {SENTENCES[0]}", f"Ben: {SENTENCES[3]}", f"Ada: {SENTENCES[7]}")
    assert [(x.who, x.heard, x.problem) for x in spoken.lines] == [("Ada", True, None), ("Ben", True, None), ("Ada", True, None)]
    for line, start in zip(spoken.lines, talk()[1], strict=True):
        assert line.start_s is not None
        assert start <= line.start_s < start + 0.4
    assert len(spoken.words) == sum(len(s.split()) for s in (SENTENCES[0], SENTENCES[3], SENTENCES[7]))
    assert [w.start_s for w in spoken.words] == sorted(w.start_s for w in spoken.words)
    assert all(w.end_s > w.start_s for w in spoken.words)


def test_phones_fill_their_words_and_carry_stress() -> None:
    spoken = heard(SENTENCES[0])
    for index, word in enumerate(spoken.words):
        own = [p for p in spoken.phones if p.word == index]
        assert own[0].start_s == pytest.approx(word.start_s)
        assert own[-1].end_s == pytest.approx(word.end_s)
        assert all(a.end_s == pytest.approx(b.start_s) for a, b in itertools.pairwise(own))
    lantern = [(p.phone, p.stress) for p in spoken.phones if spoken.words[p.word or 0].text == "lantern"]
    assert lantern == [("L", None), ("AE", 1), ("N", None), ("T", None), ("ER", 0), ("N", None)]


def test_a_line_that_is_not_there_is_said_to_be_missing_and_gets_no_words() -> None:
    spoken = heard(SENTENCES[0], SENTENCES[5], SENTENCES[7])
    assert [x.heard for x in spoken.lines] == [True, False, True]
    assert (spoken.lines[1].why, spoken.lines[1].problem) == ("otherwise", "something else is said")
    assert "DH AH R OW P" in (spoken.lines[1].instead or "")  # what stands there: 'Give me the rope'
    assert {w.line for w in spoken.words} == {0, 2}


def test_a_line_half_wrong_is_not_bent_to_fit() -> None:
    spoken = heard("Oona lit the lantern when her two brothers rowed away.")
    assert not spoken.lines[0].heard
    assert spoken.lines[0].problem
    assert spoken.words == ()


def test_swapped_lines_are_found_and_the_order_is_told() -> None:
    spoken = heard(SENTENCES[7], SENTENCES[0])
    assert [x.heard for x in spoken.lines] == [True, True]
    assert spoken.lines[1].problem is not None
    assert "earlier" in spoken.lines[1].problem
    assert spoken.words[0].text == "Oona"
    assert spoken.words[0].line == 1


def test_speech_that_stands_in_no_line_is_left_alone() -> None:
    spoken = heard(SENTENCES[3])
    start = talk()[1][1]
    end = talk()[1][2]
    assert all(start <= w.start_s and w.end_s <= end for w in spoken.words)


def test_cue_times_bound_the_search() -> None:
    _, starts = talk()
    cue = "WEBVTT\n\n00:{:06.3f} --> 00:{:06.3f}\n<v Ben>{}\n"
    right = align_lines(talk()[0], parse_lines(cue.format(starts[1], starts[2], SENTENCES[3])))
    wrong = align_lines(talk()[0], parse_lines(cue.format(starts[2], starts[2] + 2, SENTENCES[3])))
    assert right.lines[0].heard
    assert not wrong.lines[0].heard
    assert "in its cue" in str(wrong.lines[0].problem)


def test_one_word() -> None:
    spoken = align_lines(say("Lantern.", "flite_rms").samples, parse_lines("lantern"))
    assert [w.text for w in spoken.words] == ["lantern"]


@pytest.mark.parametrize(
    "samples",
    [
        np.zeros(0, np.float32),
        np.zeros(160, np.float32),
        np.zeros(3 * RATE, np.float32),
        np.random.default_rng(3).standard_normal(2 * RATE).astype(np.float32) * 0.05,
        np.sin(np.arange(2 * RATE) * 2 * np.pi * 440 / RATE).astype(np.float32),
    ],
    ids=["empty", "10 ms", "silence", "noise", "a tone"],
)
def test_where_nobody_speaks_no_line_is_heard(samples: Samples) -> None:
    spoken = align_lines(samples, parse_lines(SENTENCES[0]))
    assert [x.heard for x in spoken.lines] == [False]
    assert spoken.words == ()
    assert spoken.phones == ()


def test_letters_of_another_script_are_told_not_guessed() -> None:
    spoken = heard("фонарь")
    assert not spoken.lines[0].heard
    assert spoken.lines[0].why == "unsayable"
    assert "not written in Latin letters" in str(spoken.lines[0].problem)


def test_names_in_no_dictionary_align() -> None:
    text = "Skjoldmar gave Oonabelle the kite."
    spoken = align_lines(say(text, "flite_slt").samples, parse_lines(text))
    assert spoken.lines[0].heard
    assert [w.text for w in spoken.words] == ["Skjoldmar", "gave", "Oonabelle", "the", "kite"]


def listened(text: str) -> Listened:
    return listen(say(text, "flite_rms").samples, Quiet())


def test_the_sound_picks_among_pronunciations() -> None:
    ways = ((("K", "AY", "T"), ("B", "OW", "L", "D", "ER")),)
    for number, text in enumerate(("Kite.", "Boulder.")):
        timed = align_words(listened(text), ways)
        assert timed is not None
        assert timed[0].way == number


def test_phones_that_were_said_gain_and_others_lose() -> None:
    sound = listened(SENTENCES[3])
    said = align_words(sound, [ways_to_say(w) for w in parse_lines(SENTENCES[3])[0].words])
    other = align_words(sound, [ways_to_say(w) for w in parse_lines(SENTENCES[6])[0].words])
    assert said is not None
    assert other is not None
    assert np.mean([p.gain for w in said for p in w.phones]) > 0
    assert np.mean([p.gain for w in other for p in w.phones]) < -4


def test_words_that_cannot_fit_into_the_time_give_none() -> None:
    ways = [ways_to_say(w) for w in parse_lines(" ".join(SENTENCES))[0].words]
    assert align_words(listened("Kite."), ways) is None


def test_stopping_and_the_same_again() -> None:
    lines = parse_lines(SENTENCES[0])
    with pytest.raises(Stopped):
        align_lines(talk()[0], lines, progress=StopAfter(0))
    assert align_lines(talk()[0], lines) == align_lines(talk()[0], lines)


def test_words_for_which_there_is_no_room_are_not_laid_out(monkeypatch) -> None:
    """Each phone takes three rows at least; a graph of 100,000 states over a minute of sound would take all memory."""
    sound = listened("Kite.")
    monkeypatch.setattr(force, "line_graph", lambda *_: pytest.fail("laid out though there is no room"))
    assert align_words(sound, [(("K", "AY", "T"),)] * len(sound.rows)) is None
