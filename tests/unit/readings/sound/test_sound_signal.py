"""Spectra, voicing, tremor, accents, wave: closed forms and analytic signals."""

from __future__ import annotations

import itertools
from fractions import Fraction

import numpy as np
import pytest

from shotcrit.clock import FrameClock
from shotcrit.media.info import Sound
from shotcrit.readings.events import Phone, Word
from shotcrit.readings.sound.accents import find_accents
from shotcrit.readings.sound.periodic import tone_strength
from shotcrit.readings.sound.spectra import measure_spectra
from shotcrit.readings.sound.tremor import find_tremors
from shotcrit.readings.sound.voicing import voiced_frames, voicing_stretches
from shotcrit.readings.sound.wave import WaveRows
from shotcrit.readings.sound.waveform import RATE, Samples, levelled, to_pcm16


def buzz(hertz: float | Samples, length_s: float, *, harmonics: int = 20) -> Samples:
    """A voice-like tone: harmonics falling by 6 dB an octave. `hertz` may vary, one value a sample."""
    phase = 2 * np.pi * np.cumsum(np.broadcast_to(hertz, round(length_s * RATE))) / RATE
    return np.asarray(0.1 * sum(np.sin(k * phase) / k for k in range(1, harmonics + 1)), np.float32)


def noise(length_s: float, level: float = 0.05, seed: int = 1) -> Samples:
    return (np.random.default_rng(seed).standard_normal(round(length_s * RATE)) * level).astype(np.float32)


@pytest.mark.parametrize("hertz", [80.0, 110.0, 220.0, 440.0])
def test_pitch_of_a_tone(hertz: float) -> None:
    spectra = measure_spectra(buzz(hertz, 0.5, harmonics=int(4000 / hertz)))
    middle = spectra.pitch_hz[10:40]
    assert np.abs(12 * np.log2(middle / hertz)).max() < 0.1  # semitones
    assert spectra.strength[10:40].min() > 0.9


def test_pitch_follows_an_analytic_glide() -> None:
    wanted = 120 * 2 ** np.linspace(0, 1, RATE)  # an octave in a second
    spectra = measure_spectra(buzz(wanted.astype(np.float32), 1.0))
    frames = np.arange(10, 90)
    assert np.abs(12 * np.log2(spectra.pitch_hz[frames] / wanted[frames * 160])).max() < 0.3


def test_level_of_a_known_power() -> None:
    tone = (0.1 * np.sin(np.arange(RATE) * 2 * np.pi * 1000 / RATE)).astype(np.float32)  # -23.01 dB re full scale, mean power
    assert measure_spectra(tone).level_db[20:80] == pytest.approx(-23.01, abs=0.1)
    assert measure_spectra(noise(1.0, 0.1)).level_db[10:90].mean() == pytest.approx(-20.0 - 0.08, abs=0.5)  # less what lies under 150 Hz


def test_silence_and_emptiness() -> None:
    assert len(measure_spectra(np.zeros(0, np.float32))) == 0
    silent = measure_spectra(np.zeros(RATE, np.float32))
    assert silent.level_db == pytest.approx(-100, abs=0.01)  # a logarithm's last digit is the processor's own
    assert not voiced_frames(silent, np.zeros(RATE, np.float32)).any()


def test_voice_noise_and_silence_are_cut_apart() -> None:
    samples = np.concatenate([np.zeros(RATE // 2, np.float32), buzz(120, 0.5), noise(0.5), np.zeros(RATE // 2, np.float32)])
    found = voicing_stretches(measure_spectra(samples), samples)
    assert [v.kind for v in found] == ["silence", "voiced", "unvoiced", "silence"]
    assert [v.start_s for v in found[1:]] == pytest.approx([0.5, 1.0, 1.5], abs=0.03)
    assert all(a.end_s == pytest.approx(b.start_s) for a, b in itertools.pairwise(found))


def test_tone_strength_tells_voices_from_noise_and_levels_steady_hum() -> None:
    inside, outside = np.arange(40, 60), np.r_[5:30, 70:95]
    hum = buzz(50, 1.0, harmonics=9)
    breath = np.zeros(RATE, np.float32)
    breath[6000:10000] = noise(0.25, 0.02)
    assert tone_strength(buzz(120, 1.0), inside, np.zeros(0, np.intp)) > 0.8
    assert tone_strength(noise(1.0), inside, np.zeros(0, np.intp)) < 0.27
    assert tone_strength(hum + breath, inside, outside) < 0.27


def shaken(rate_hz: float, semitones: float = 0.0, level: float = 0.0) -> Samples:
    time = np.arange(2 * RATE) / RATE
    wave = np.sin(2 * np.pi * rate_hz * time)
    return (buzz((150 * 2 ** (semitones * wave / 12)).astype(np.float32), 2.0) * (1 + level * wave)).astype(np.float32)


@pytest.mark.parametrize("rate_hz", [4.5, 6.0, 9.0])
def test_a_shake_of_pitch_has_its_rate_and_depth(rate_hz: float) -> None:
    samples = shaken(rate_hz, semitones=0.8)
    found = [t for t in find_tremors(measure_spectra(samples), samples) if t.carrier == "pitch"]
    assert found
    assert found[0].rate_hz == pytest.approx(rate_hz, abs=0.3)
    assert found[0].depth == pytest.approx(0.8, abs=0.2)


@pytest.mark.parametrize("rate_hz", [5.0, 8.0, 11.0])
def test_a_shake_of_level_has_its_rate_and_depth(rate_hz: float) -> None:
    samples = shaken(rate_hz, level=0.4)
    found = [t for t in find_tremors(measure_spectra(samples), samples) if t.carrier == "level"]
    assert found
    assert found[0].rate_hz == pytest.approx(rate_hz, abs=0.3)
    assert found[0].depth == pytest.approx(0.4, abs=0.12)


@pytest.mark.parametrize("samples", [buzz(150, 2.0), shaken(2.0, semitones=1.0), shaken(18.0, level=0.4), noise(2.0)])
def test_steady_slow_fast_and_noisy_sounds_do_not_shake(samples: Samples) -> None:
    assert find_tremors(measure_spectra(samples), samples) == ()


def syllables(levels: list[float], pitches: list[float]) -> Samples:
    gap = np.zeros(int(0.1 * RATE), np.float32)
    return np.concatenate([part for g, p in zip(levels, pitches, strict=True) for part in (buzz(p, 0.15) * np.float32(g), gap)])


@pytest.mark.parametrize("with_phones", [True, False])
def test_a_lone_syllable_is_an_accent_of_strength_1(with_phones: bool) -> None:
    """'No!': against itself it leans by 0, which must not be divided by."""
    samples = np.concatenate([np.zeros(3200, np.float32), buzz(150, 0.3), np.zeros(3200, np.float32)])
    words = (Word("No", "Ada", 0.2, 0.5),) if with_phones else ()
    phones = (Phone("OW", 1, 0, 0.2, 0.5),) if with_phones else ()
    (accent,) = find_accents(measure_spectra(samples), samples, words, phones)
    assert (accent.strength, accent.rank, accent.word) == (1.0, 1, 0 if with_phones else None)
    assert 0.2 <= accent.time_s <= 0.5


def test_the_loud_high_syllable_is_the_first_accent() -> None:
    samples = syllables([0.5, 0.5, 1.0, 0.5, 0.55, 0.5], [120, 121, 170, 119, 120, 118])
    accents = find_accents(measure_spectra(samples), samples)
    assert min(accents, key=lambda a: a.rank).time_s == pytest.approx(0.575, abs=0.08)
    assert sorted(a.rank for a in accents) == list(range(1, len(accents) + 1))
    assert [a.time_s for a in accents] == sorted(a.time_s for a in accents)


def test_with_words_the_stressed_vowel_wins_over_an_unstressed_one_alike() -> None:
    samples = syllables([0.8, 0.8, 0.5, 0.5, 0.5], [150, 150, 120, 120, 120])
    spans = [(0.25 * i, 0.25 * i + 0.15) for i in range(5)]
    phones = [Phone("AE", stress, i, *span) for i, (span, stress) in enumerate(zip(spans, [0, 1, 1, 0, 1], strict=True))]
    words = [Word(str(i), "Ada", *span) for i, span in enumerate(spans)]
    accents = find_accents(measure_spectra(samples), samples, words, phones)
    assert min(accents, key=lambda a: a.rank).word == 1


def test_no_voice_no_accent() -> None:
    assert find_accents(measure_spectra(noise(1.0)), noise(1.0)) == ()
    assert find_accents(measure_spectra(np.zeros(0, np.float32)), np.zeros(0, np.float32)) == ()


def wave_of(sound: Sound, clock: FrameClock, slices: int, block: int = 1000) -> np.ndarray:
    mixed = sound.mixed()
    rows = WaveRows(mixed.rate, mixed.offset_s, mixed.samples, clock, slices=slices)
    for whole in mixed.blocks():
        for at in range(0, len(whole), block):
            rows.add(whole[at : at + block])
    return rows.done()


@pytest.mark.parametrize("block", [7, 1000, 100_000])
def test_wave_equals_the_slow_way(block: int) -> None:
    samples = noise(1.0)[:, None]
    sound = Sound(samples, RATE, Fraction(-1, 10))
    clock = FrameClock.steady(Fraction(24000, 1001), 20)
    fast = wave_of(sound, clock, 4, block)
    for i in range(20):
        for k in range(4):
            edges = [float(clock.edges[i]) + float(clock.edges[i + 1] - clock.edges[i]) * q / 4 for q in (k, k + 1)]
            part = samples[slice(*(round((e + 0.1) * RATE) for e in edges)), 0]
            assert fast[i, k].tolist() == [part.min(), part.max()]


def test_wave_is_nan_where_there_is_no_sound() -> None:
    sound = Sound(np.ones((RATE // 4, 2), np.float32), RATE, Fraction(1, 4))
    wave = wave_of(sound, FrameClock.steady(Fraction(24), 24), 2)
    assert np.isnan(wave[:6]).all()
    assert (wave[6:12] == 1).all()
    assert np.isnan(wave[12:]).all()
    assert np.isnan(wave_of(Sound(np.zeros((0, 1), np.float32), RATE, Fraction(0)), FrameClock.steady(Fraction(24), 2), 8)).all()


def test_channels_that_cancel_are_not_lost() -> None:
    tone = buzz(100, 0.2)
    mixed = Sound(np.stack([tone, -tone], axis=1), RATE, Fraction(0)).mixed()
    assert np.array_equal(np.concatenate(list(mixed.blocks())), tone)


def test_silence_is_silence() -> None:
    assert to_pcm16(np.zeros(3, np.float32)) == b"\0" * 6


@pytest.mark.parametrize(("level_db", "put_at_db"), [(-40.0, -20.0), (-20.0, -20.0), (-10.0, -10.0), (-90.0, -30.0)])
@pytest.mark.parametrize("seconds", [0.1, 0.3, 5.0])
def test_a_sound_is_raised_to_where_speech_lies_and_never_lowered(level_db: float, put_at_db: float, seconds: float) -> None:
    """White noise whose second half is 30 dB below its first; at most 60 dB are added."""
    loud = np.random.default_rng(1).standard_normal(round(seconds * RATE)).astype(np.float32)
    loud *= np.float32(10 ** (level_db / 20) / np.sqrt(np.mean(np.square(loud))))
    samples = np.concatenate([loud, loud * np.float32(10**-1.5)]) if seconds > 1 else loud
    raised = levelled(samples.copy())
    first = raised[: len(loud)]
    assert 20 * np.log10(np.sqrt(np.mean(np.square(first)))) == pytest.approx(put_at_db, abs=0.2)
    assert raised == pytest.approx(samples * np.float32(first[0] / samples[0]), rel=1e-4, abs=1e-9)


def test_nothing_and_silence_stay_what_they_are() -> None:
    assert len(levelled(np.zeros(0, np.float32))) == 0
    assert not levelled(np.zeros(RATE, np.float32)).any()
