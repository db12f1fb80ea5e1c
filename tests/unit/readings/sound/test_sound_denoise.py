"""Noise subtraction: clean sound is left alone, steady noise falls, the voice stays."""

from __future__ import annotations

import numpy as np
import pytest
from tests.make.voices import RATE, SENTENCES, say, speech_level

from shotcrit.readings.sound.denoise import without_noise


def test_clean_and_very_short_sound_come_back_untouched() -> None:
    samples = say(SENTENCES[0], "flite_rms").samples
    quiet = np.concatenate([np.zeros(RATE // 2, np.float32), samples])
    assert without_noise(quiet) is quiet
    short = np.ones(100, np.float32)
    assert without_noise(short) is short


@pytest.mark.parametrize("under_db", [15.0, 25.0])
def test_steady_noise_falls_by_6_db_or_more_and_the_voice_stays(under_db: float) -> None:
    voice = np.concatenate([np.zeros(RATE, np.float32), say(SENTENCES[0], "flite_rms").samples])
    noise = (np.random.default_rng(1).standard_normal(len(voice)) * 10 ** ((speech_level(voice) - under_db) / 20)).astype(np.float32)
    cleaned = without_noise(voice + noise)
    assert len(cleaned) == len(voice)
    assert 20 * np.log10(cleaned[: RATE // 2].std() / noise[: RATE // 2].std()) < -6
    loud = slice(RATE + RATE // 4, None)
    assert float((cleaned[loud] * voice[loud]).sum() / (voice[loud] ** 2).sum()) == pytest.approx(
        1, abs=0.12
    )  # amplitude of the voice in it
    assert ((cleaned - voice) ** 2).mean() < 0.7 * (noise**2).mean()


def test_steady_noise_alone() -> None:
    noise = np.random.default_rng(2).standard_normal(RATE).astype(np.float32) * 0.01
    assert np.isfinite(without_noise(noise)).all()
