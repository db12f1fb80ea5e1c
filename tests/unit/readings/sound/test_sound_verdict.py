"""Heard, cannot be heard, something else said: on synthetic voices, with silence, noise and music around and under them."""

from __future__ import annotations

import numpy as np
import pytest
from tests.make.noises import room_tone
from tests.make.voices import RATE, SENTENCES, Samples, say, speech_level
from tests.unit.readings.sound.test_sound_breaths import tune

from shotcrit.readings.events import Line
from shotcrit.readings.sound.align import align_lines
from shotcrit.readings.sound.force import Timed, TimedPhone
from shotcrit.readings.sound.lines_file import parse_lines
from shotcrit.readings.sound.verdict import SUREST, WORD_OTHERWISE, support, sureness


def verdict(samples: Samples, text: str) -> Line:
    (line,) = align_lines(samples, parse_lines(text)).lines
    return line


def timed(*phones: tuple[float, int]) -> Timed:
    """A word of phones given as (gain, rows)."""
    edges = np.cumsum([0, *(rows for _, rows in phones)]) / 100
    return Timed(0, tuple(TimedPhone("T", a, b, gain) for (gain, _), a, b in zip(phones, edges[:-1], edges[1:], strict=True)))


def test_support_by_hand() -> None:
    assert support(timed((-4.0, 6), (-2.0, 12))) == pytest.approx(-6 / np.sqrt(2))
    assert support(timed((-4.0, 3), (2.0, 6))) == pytest.approx((-2 + 2) / np.sqrt(1.5))  # half a phone, since three rows may be none


def test_one_swallowed_phone_is_no_other_word_and_three_wrong_ones_are() -> None:
    assert support(timed((1.0, 8), (-14.0, 3))) > WORD_OTHERWISE
    assert support(timed((-6.0, 8), (-5.0, 8), (-5.0, 8))) < WORD_OTHERWISE


def test_nothing_is_entirely_sure() -> None:
    assert sureness(timed((9.0, 9))) == SUREST
    assert sureness(timed((-99.0, 9))) == pytest.approx(1 - SUREST)


@pytest.mark.parametrize("around_s", [0.0, 0.5, 6.0])
def test_the_verdict_does_not_hang_on_the_silence_around_a_line(around_s: float) -> None:
    quiet = np.zeros(round(around_s * RATE), np.float32)
    samples = np.concatenate([quiet, say(SENTENCES[1], "flite_awb").samples, quiet])
    right, wrong = verdict(samples, SENTENCES[1]), verdict(samples, SENTENCES[4])
    assert (right.heard, right.why) == (True, None)
    assert (wrong.heard, wrong.why) == (False, "otherwise")
    assert right.confidence > 0.9 > 0.1 > wrong.confidence


@pytest.mark.parametrize(("index", "said", "put"), [(0, "lantern", "harbour"), (3, "rope", "kettle"), (9, "ships", "candles")])
def test_one_wrong_word_is_told_with_what_was_heard(index: int, said: str, put: str) -> None:
    line = verdict(say(SENTENCES[index], "flite_rms").samples, SENTENCES[index].replace(said, put))
    assert line.why == "otherwise"
    assert f"'{put}'" in str(line.problem)
    assert line.instead
    assert line.confidence < 0.6


@pytest.mark.parametrize("under", ["noise", "music"])
def test_what_lies_under_too_much_is_not_called_something_else(under: str) -> None:
    """Right line or wrong, as loud a noise or music as the voice leaves nothing to accuse by."""
    voice = say(SENTENCES[2], "flite_rms").samples
    rng, level = np.random.default_rng(3), speech_level(voice)
    music = np.resize(tune(1), len(voice))
    bed = room_tone(rng, len(voice), level) if under == "noise" else music * 10 ** (level / 20) / music.std()
    for text in (SENTENCES[2], SENTENCES[5]):
        line = verdict(voice + bed.astype(np.float32), text)
        assert line.why in (None, "unclear")
        assert line.heard or "noise or music" in str(line.problem)
