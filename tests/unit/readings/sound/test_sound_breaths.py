"""Breaths and smacks, one case at a time, and the whole reading."""

from __future__ import annotations

import json
from fractions import Fraction

import numpy as np
import pytest
from tests.make.noises import RECIPES, breath, hiss, hum, room_tone, smack
from tests.make.voices import RATE, SENTENCES, Samples, as_sound, say, speech_level

from shotcrit.clock import FrameClock
from shotcrit.errors import ReadingError
from shotcrit.media.info import Sound
from shotcrit.readings.bundle import SoundReadings
from shotcrit.readings.events import Breath, Word
from shotcrit.readings.sound import parse_lines, read_sound, sound_from_json, sound_to_json
from shotcrit.readings.sound.align import align_lines
from shotcrit.readings.sound.breaths import find_breaths, with_levels
from shotcrit.readings.sound.spectra import measure_spectra


def between(piece: Samples, *, floor_db: float = -75.0, before_s: float = 0.3) -> tuple[Samples, float]:
    """A sentence, a pause with `piece` in it, a sentence; and the piece's start."""
    rng = np.random.default_rng(5)
    one, two = (say(SENTENCES[i], "flite_rms").samples for i in (0, 3))
    quiet = np.zeros(round(before_s * RATE), np.float32)
    whole = np.concatenate([one, quiet, piece, quiet, two])
    return whole + room_tone(rng, len(whole), floor_db), (len(one) + len(quiet)) / RATE


@pytest.mark.parametrize("recipe", RECIPES)
def test_a_breath_is_found_with_its_ends(recipe: str) -> None:
    samples, start = between(breath(np.random.default_rng(1), 0.5, -45.0, recipe))
    (found,) = find_breaths(samples)
    assert found.kind == "inhale"
    assert found.start_s == pytest.approx(start, abs=0.1)
    assert found.end_s == pytest.approx(start + 0.5, abs=0.1)
    assert found.level_db > 10
    assert 0 < found.confidence <= 1


def pink(length_s: float, level_db: float, seed: int = 3) -> Samples:
    """Noise that falls by 3 dB an octave, swelling and sinking. It falls less than most breaths do."""
    count = round(length_s * RATE)
    hertz = np.maximum(np.fft.rfftfreq(count, 1 / RATE), 60)
    tone = np.fft.irfft(np.fft.rfft(np.random.default_rng(seed).standard_normal(count)) / np.sqrt(hertz), count)
    tone *= np.hanning(count)
    return np.asarray(tone / np.sqrt((tone**2).mean()) * 10 ** (level_db / 20), np.float32)


@pytest.mark.parametrize("seed", range(4))
def test_a_breath_whose_spectrum_falls_only_a_little_is_found(seed: int) -> None:
    samples, start = between(pink(0.45, -45.0, seed))
    (found,) = find_breaths(samples)
    assert found.start_s == pytest.approx(start, abs=0.15)


def test_a_consonant_of_that_colour_is_none() -> None:
    samples, _ = between(pink(0.14, -35.0))
    assert find_breaths(samples) == ()


@pytest.mark.parametrize("gain_db", [0.0, -20.0, -40.0])
def test_what_is_heard_does_not_hang_on_the_fader(gain_db: float) -> None:
    """Recorded at any level, and rounded to 16 bits there."""
    samples, start = between(breath(np.random.default_rng(1), 0.5, -45.0), floor_db=-80.0)
    click, at = smack(np.random.default_rng(2), -35.0), round((start - 0.15) * RATE)
    samples[at : at + len(click)] += click
    quiet = np.round(samples * 10 ** (gain_db / 20) * 32767) / 32767
    sound = as_sound(quiet.astype(np.float32))
    found = read_sound(sound, clock_for(sound)).breaths
    assert [b.kind for b in found] == ["smack", "inhale"]
    assert found[1].start_s == pytest.approx(start, abs=0.1)


@pytest.mark.parametrize(("after_s", "smacks"), [(0.02, 0), (0.3, 1)])
def test_the_last_of_a_word_is_no_smack(after_s: float, smacks: int) -> None:
    """A word's end is good to a frame, and an s or a stop's release goes on past it."""
    click = smack(np.random.default_rng(2), -30.0)
    piece = np.zeros(RATE, np.float32)
    piece[round(after_s * RATE) :][: len(click)] += click
    samples, start = between(piece)
    words = [Word("it", None, 0.1, start, 1.0, 0), Word("was", None, start + 1.2, start + 2, 1.0, 0)]
    assert len(find_breaths(samples, words)) == smacks


def test_with_words_the_same_breath() -> None:
    samples, start = between(breath(np.random.default_rng(1), 0.5, -45.0))
    words = align_lines(samples, parse_lines(f"{SENTENCES[0]}\n{SENTENCES[3]}")).words
    found = [b for b in find_breaths(samples, words) if b.kind != "smack"]
    assert [b.start_s for b in found] == [pytest.approx(start, abs=0.1)]


def test_breaths_placed_by_hand_get_the_level_that_is_in_the_sound() -> None:
    samples, start = between(breath(np.random.default_rng(1), 0.5, -45.0))
    (found,) = find_breaths(samples)
    placed = (Breath("inhale", start, start + 0.5, 0.0, 1.0), Breath("inhale", 0.2, 0.2 + 1e-4, 0.0, 1.0))
    by_hand, _ = with_levels(placed, samples, (), measure_spectra(samples))
    assert by_hand.level_db == pytest.approx(found.level_db, abs=3)
    silent = (Breath("inhale", start - 0.25, start - 0.1, 0.0, 1.0),)
    assert with_levels(silent, samples, (), measure_spectra(samples))[0].level_db < 4


@pytest.mark.parametrize("length_s", [0.12, 0.16, 0.3, 0.9])
def test_short_and_long_breaths(length_s: float) -> None:
    rng = np.random.default_rng(2)
    samples, _ = between(breath(rng, length_s / 0.85, -42.0))
    assert [b.kind for b in find_breaths(samples)] == ["inhale"]


def test_a_sigh_is_an_exhalation() -> None:
    samples, _ = between(breath(np.random.default_rng(3), 1.6, -42.0))
    assert [b.kind for b in find_breaths(samples)] == ["exhale"]


def test_a_smack_is_a_smack() -> None:
    samples, start = between(smack(np.random.default_rng(4), -35.0))
    (found,) = find_breaths(samples)
    assert found.kind == "smack"
    assert found.start_s == pytest.approx(start, abs=0.05)
    assert found.end_s - found.start_s < 0.1


def test_one_stray_sample_is_no_smack() -> None:
    piece = np.zeros(800, np.float32)
    piece[400] = 0.2
    assert find_breaths(between(piece)[0]) == ()


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_hum_hiss_and_room_tone_under_everything_give_nothing(seed: int) -> None:
    rng = np.random.default_rng(seed)
    samples, _ = between(np.zeros(RATE // 2, np.float32))
    for under in (hum(rng, len(samples), -45), hiss(rng, len(samples), -60), room_tone(rng, len(samples), -50)):
        assert find_breaths(samples + under) == ()


@pytest.mark.parametrize(
    "samples",
    [np.zeros(0, np.float32), np.zeros(100, np.float32), np.zeros(2 * RATE, np.float32), say(SENTENCES[4], "flite_slt").samples],
    ids=["empty", "short", "silence", "speech"],
)
def test_nothing_to_find(samples: Samples) -> None:
    assert find_breaths(samples) == ()


def test_a_hummed_note_is_no_breath() -> None:
    time = np.arange(RATE // 2) / RATE
    note = sum(np.sin(2 * np.pi * 180 * k * time) / k for k in range(1, 15)) * 0.01 * np.hanning(len(time))
    assert find_breaths(between(np.asarray(note, np.float32))[0]) == ()


@pytest.mark.parametrize("over_db", [16.0, 30.0])
def test_weak_consonants_in_a_noisy_room_are_no_breaths(over_db: float) -> None:
    """Where f, th and h barely stand over the noise of the place, what is left of them falls as a breath does."""
    for voice in ("flite_awb", "flite_rms"):
        for index in (2, 6, 7):
            samples = say(SENTENCES[index], voice).samples
            noise = room_tone(np.random.default_rng(index), len(samples), speech_level(samples) - over_db)
            assert find_breaths(samples + noise) == ()


def gusts(seed: int) -> Samples:
    """Wind: noise that falls by 4 to 5 dB an octave and swells and sinks over half a second."""
    rng, count = np.random.default_rng(seed), 8 * RATE
    hertz = np.maximum(np.fft.rfftfreq(count, 1 / RATE), 100)
    noise = np.fft.irfft(np.fft.rfft(rng.standard_normal(count)) / hertz**0.8, count)
    swell = np.interp(np.arange(count), np.linspace(0, count, 17), 10 ** (rng.uniform(-30, 0, 17) / 20))
    return np.asarray(0.3 * noise * swell / np.abs(noise * swell).max(), np.float32)


def tune(seed: int) -> Samples:
    """Chords of struck strings, each with the noise of its hammer."""
    rng, count = np.random.default_rng(seed), 8 * RATE
    whole, time = np.zeros(count + RATE), np.arange(RATE) / RATE
    for at in range(0, count, RATE // 2):
        low = 110 * 2 ** (rng.choice([0, 2, 4, 5, 7, 9, 11, 12]) / 12)
        strings = sum(np.sin(2 * np.pi * low * part * k * time) / k**1.5 for part in (1, 1.26, 1.5) for k in range(1, 8))
        whole[at : at + RATE] += 0.05 * strings * np.exp(-3 * time) + 0.05 * rng.standard_normal(RATE) * np.exp(-30 * time)
    return whole[:count].astype(np.float32)


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_wind_and_music_breathe_for_nobody(seed: int) -> None:
    assert find_breaths(gusts(seed)) == ()
    assert find_breaths(tune(seed)) == ()


def test_a_room_too_noisy_to_hear_breaths_is_told() -> None:
    samples, _ = between(breath(np.random.default_rng(1), 0.5, -45.0))
    noise = room_tone(np.random.default_rng(1), len(samples), speech_level(samples) - 16)
    for heard, needs in ((samples, None), (samples + noise, "too noisy to hear breaths")):
        sound = as_sound(heard)
        found = read_sound(sound, clock_for(sound)).breaths_need
        assert found is None if needs is None else needs in str(found)


def clock_for(sound: Sound) -> FrameClock:
    return FrameClock.for_sound(Fraction(24), sound.duration_s)


def test_the_whole_reading_moves_with_the_sound_s_offset() -> None:
    samples, _ = between(breath(np.random.default_rng(1), 0.5, -45.0))
    lines = parse_lines(f"Ada: {SENTENCES[0]}\nBen: {SENTENCES[3]}")
    here = read_sound(as_sound(samples), clock_for(as_sound(samples)), lines)
    later = as_sound(samples, offset_s=Fraction(1, 2))
    there = read_sound(later, clock_for(later), lines)
    for name in ("words", "phones", "breaths", "voicing"):
        moved = [(x.start_s - 0.5, x.end_s - 0.5) for x in getattr(there, name)]
        assert np.allclose(moved, [(x.start_s, x.end_s) for x in getattr(here, name)])
    assert [x.heard for x in there.lines] == [True, True]
    assert [b.who for b in here.breaths] == ["Ben"]
    assert here.accents
    assert here.wave.shape == (len(clock_for(as_sound(samples))), 8, 2)


def test_readings_survive_the_cache() -> None:
    samples, _ = between(breath(np.random.default_rng(1), 0.5, -45.0))
    sound = as_sound(samples, offset_s=Fraction(-1, 4))
    read = read_sound(sound, clock_for(sound))
    back = sound_from_json(json.loads(json.dumps(sound_to_json(read), allow_nan=False)))
    assert np.array_equal(back.wave, read.wave, equal_nan=True)
    assert sound_to_json(back) == sound_to_json(read)
    assert back.breaths == read.breaths
    assert isinstance(back.breaths[0], Breath)


@pytest.mark.parametrize("data", [{}, {"lines": 3}, {**sound_to_json(SoundReadings()), "wave": {"shape": [2, 2], "values": [1]}}])
def test_stored_readings_of_another_make(data: dict[str, object]) -> None:
    with pytest.raises(ReadingError, match="measure again"):
        sound_from_json(data)


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_what_is_breathed_after_a_stop_is_no_breath(seed: int) -> None:
    """The same noise, 0.22 s of it: let go all at once it is a stop's release, and come on over 60 ms it is a breath."""
    whole = breath(np.random.default_rng(seed), 0.44, -40.0)
    noise = whole[round(0.18 * RATE) : round(0.40 * RATE)].copy()
    assert find_breaths(between(noise)[0]) == ()
    come_on = round(0.06 * RATE)
    noise[:come_on] *= np.linspace(0, 1, come_on, dtype=np.float32)
    samples, start = between(noise)
    (found,) = find_breaths(samples)
    assert found.start_s == pytest.approx(start, abs=0.05)
