"""Pauses with known contents: breaths by three independent recipes, and all that is no breath.

The detector was tuned on recipe 'bands' with seeds below 1000 alone. 'tract' filters noise through an all-pole model of the h that a
Festival voice speaks, 'whisper' cuts espeak-ng's whispered vowels; both are for testing only.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from scipy.linalg import solve_toeplitz
from scipy.signal import butter, lfilter, sosfilt

from tests.make.voices import RATE, SENTENCES, Samples, Speech, say, speech_level, whisper

RECIPES = ("bands", "tract", "whisper")
NOTHINGS = ("silence", "hum", "hum burst", "hiss", "hiss burst", "s", "sh", "f", "h", "th", "room tone", "stop", "h word")
Rng = np.random.Generator


@dataclass(frozen=True)
class Event:
    """What was put where: 'breath', 'smack', or the name of a nothing. Seconds from the start."""

    kind: str
    start_s: float
    end_s: float


@dataclass(frozen=True)
class Track:
    samples: Samples
    events: tuple[Event, ...]


def _normal(rng: Rng, count: int) -> Samples:
    return rng.standard_normal(count).astype(np.float32)


def _at_level(samples: Samples, level_db: float) -> Samples:
    """Scaled so that its mean power is level_db re full scale."""
    power = float((samples.astype(np.float64) ** 2).mean())
    return np.asarray(samples * (10 ** (level_db / 20) / max(np.sqrt(power), 1e-12)), np.float32)


def _swell(rng: Rng, count: int) -> Samples:
    """Rise and fall of a breath: the peak at 35 to 80 % of its length (inhalations grow towards their end), smooth ends."""
    x = np.linspace(0, 1, count)
    peak = rng.uniform(0.35, 0.8)
    shape = np.where(x < peak, np.sin(np.pi / 2 * x / peak), np.cos(np.pi / 2 * (x - peak) / (1 - peak)))
    return np.asarray(np.clip(shape, 0, None) ** rng.uniform(0.5, 1.0), np.float32)


def _resonator(x: Samples, hertz: float, width: float) -> Samples:
    """A two-pole resonance (Klatt 1980, JASA 67:971-995)."""
    r = np.exp(-np.pi * width / RATE)
    b, c = 2 * r * np.cos(2 * np.pi * hertz / RATE), -r * r
    return np.asarray(lfilter([1 - b - c], [1, -b, -c], x), np.float32)


def _bands_breath(rng: Rng, count: int) -> Samples:
    """White noise with a falling slope and weak resonances below 3 kHz (Werner et al. 2023)."""
    white = _normal(rng, count)
    steep = rng.uniform(0.55, 0.85)
    fallen = lfilter([1 - steep], [1, -steep], white).astype(np.float32)
    out = fallen.copy()
    for centre in (rng.uniform(550, 900), rng.uniform(1300, 1900), rng.uniform(2300, 2900)):
        out = out + rng.uniform(0.3, 1.0) * _resonator(fallen, centre, rng.uniform(150, 350))
    return np.asarray(sosfilt(butter(1, 200, "highpass", fs=RATE, output="sos"), out), np.float32)


@lru_cache(maxsize=4)
def _aspiration_model(word: str) -> tuple[float, ...]:
    """All-pole model (order 16, autocorrelation method) of the h that begins a word spoken by kal_diphone."""
    spoken = say(f"{word}.", "kal_diphone")
    start, end = next((a, b) for p, a, b in spoken.phones if p == "HH")
    piece = spoken.samples[round(start * RATE) : round(end * RATE)].astype(np.float64)
    piece = piece * np.hanning(len(piece))
    auto = np.correlate(piece, piece, "full")[len(piece) - 1 :][:17]
    auto[0] *= 1.001
    return tuple(float(a) for a in solve_toeplitz(auto[:16], auto[1:17]))


def _tract_breath(rng: Rng, count: int) -> Samples:
    model = np.array(_aspiration_model(str(rng.choice(["hut", "hot", "hurt", "hat"]))))
    return np.asarray(lfilter([1.0], [1.0, *-model], _normal(rng, count)), np.float32)


def _whisper_breath(rng: Rng, count: int) -> Samples:
    """A whispered vowel of espeak-ng, its middle repeated with cross-fades until it is long enough."""
    spoken = whisper(str(rng.choice(["err", "uh", "her"])), female=bool(rng.integers(2)))
    blocks = (spoken[: len(spoken) // 160 * 160].reshape(-1, 160) ** 2).mean(axis=1)
    loud = np.flatnonzero(blocks > blocks.max() / 20)
    piece = spoken[loud[0] * 160 : (loud[-1] + 1) * 160]
    out = np.zeros(count + 2 * len(piece), np.float32)
    step = len(piece) // 2
    for at in range(0, count + len(piece), step):
        turned = piece[::-1] if rng.integers(2) else piece
        out[at : at + len(piece)] += turned * np.hanning(len(piece)).astype(np.float32)
    return out[step : step + count]


_BREATHS: dict[str, Callable[[Rng, int], Samples]] = {"bands": _bands_breath, "tract": _tract_breath, "whisper": _whisper_breath}


def breath(rng: Rng, length_s: float, level_db: float, recipe: str = "bands") -> Samples:
    """A breath; level_db: mean power of its louder half, re full scale."""
    count = round(length_s * RATE)
    shaped = _BREATHS[recipe](rng, count) * _swell(rng, count)
    power = np.sort((shaped[: count // 160 * 160].reshape(-1, 160).astype(np.float64) ** 2).mean(axis=1))
    return np.asarray(shaped * 10 ** (level_db / 20) / np.sqrt(power[len(power) // 2 :].mean()), np.float32)


def smack(rng: Rng, level_db: float) -> Samples:
    """Lips or tongue parting: one to three bursts of 3 to 12 ms within 30 ms; level_db of the loudest 5 ms."""
    out = np.zeros(round(0.045 * RATE), np.float32)
    for _ in range(int(rng.integers(1, 4))):
        length, at = int(rng.uniform(0.003, 0.012) * RATE), int(rng.uniform(0, 0.03) * RATE)
        burst = _resonator(_normal(rng, length), rng.uniform(900, 3000), 700) * np.exp(-np.arange(length) / (length / 3))
        out[at : at + length] += burst[: len(out) - at].astype(np.float32)
    power = (out[: len(out) // 80 * 80].reshape(-1, 80) ** 2).mean(axis=1).max()
    return np.asarray(out * 10 ** (level_db / 20) / np.sqrt(power), np.float32)


def hum(rng: Rng, count: int, level_db: float) -> Samples:
    """Mains: 50 or 60 Hz and eight harmonics."""
    base, time = float(rng.choice([50.0, 60.0])), np.arange(count) / RATE
    wave = sum(np.sin(2 * np.pi * base * k * time + rng.uniform(0, 6)) / k ** rng.uniform(0.8, 1.6) for k in range(1, 9))
    return _at_level(np.asarray(wave, np.float32), level_db)


def room_tone(rng: Rng, count: int, level_db: float) -> Samples:
    """Noise with a falling spectrum whose level wanders by a decibel or so."""
    noise = lfilter([0.3], [1, -0.7], _normal(rng, count))
    knots = rng.uniform(-1, 1, max(2, count // RATE + 2))
    drift = np.interp(np.arange(count), np.linspace(0, count, len(knots)), knots)
    return _at_level(np.asarray(noise * 10 ** (drift / 20), np.float32), level_db)


def hiss(rng: Rng, count: int, level_db: float) -> Samples:
    """White noise, tilted upwards or not."""
    white = _normal(rng, count)
    return _at_level(white if rng.integers(2) else np.append(white[:1], white[1:] - 0.6 * white[:-1]), level_db)


_CONSONANTS = {"s": ("S", "sass"), "sh": ("SH", "shush"), "f": ("F", "fife"), "h": ("HH", "hut"), "th": ("TH", "thin")}
_WORDS = {"stop": ("pat", "tack", "tip"), "h word": ("hut", "house", "her")}
"""Whole words for what lives only on a voice: a released stop at the end, an h at the start."""


def consonant(rng: Rng, name: str) -> Samples:
    """A single s, sh, f, h or th, cut from a synthetic voice at its own length."""
    phone, word = _CONSONANTS[name]
    voice = str(rng.choice(["kal_diphone", "flite_rms", "flite_slt"]))
    spoken = say(f"{word}.", voice)
    start, end = next((a, b) for p, a, b in spoken.phones if p == phone)
    return spoken.samples[round(start * RATE) : round(end * RATE)]


def _fade(samples: Samples, length_s: float = 0.02) -> Samples:
    ramp = np.minimum(1, np.arange(len(samples)) / (length_s * RATE))
    return np.asarray(samples * ramp * ramp[::-1], np.float32)


def _nothing(rng: Rng, name: str, length_s: float, level_db: float) -> Samples:
    count = round(length_s * RATE)
    if name == "hum burst":
        return _fade(hum(rng, count, level_db))
    if name == "hiss burst":
        return _fade(hiss(rng, count, level_db))
    if name in _WORDS:
        return _trimmed(say(f"{rng.choice(_WORDS[name])}.", str(rng.choice(["kal_diphone", "flite_rms", "flite_slt"]))))
    if name in _CONSONANTS:
        return consonant(rng, name)
    return np.zeros(count, np.float32)


def _trimmed(spoken: Speech) -> Samples:
    return spoken.samples[round(spoken.phones[0][1] * RATE) : round(spoken.phones[-1][2] * RATE)]


def _speech(rng: Rng) -> Samples:
    text = str(rng.choice(SENTENCES))
    spoken = say(text, str(rng.choice(["kal_diphone", "flite_rms", "flite_slt", "flite_awb", "cmu_us_slt_arctic_hts"])))
    piece = _trimmed(spoken)
    return np.asarray(piece * 10 ** ((-20 - speech_level(piece)) / 20), np.float32)


def pause_track(seed: int, kinds: tuple[str, ...], *, recipe: str = "bands", floor_db: float = -70.0, under_db: float = 30.0) -> Track:
    """Sentences at -20 dB with one pause after each; pause i holds kinds[i].

    floor_db : mean power of the room tone under all of it, re full scale; below -100 there is none
    under_db : how far breaths and other events lie under the speech
    """
    rng = np.random.default_rng(seed)
    parts, events, at = [_speech(rng)], list[Event](), 0
    for kind in kinds:
        at = sum(len(p) for p in parts)
        piece = _event(rng, kind, recipe, -20.0 - under_db)
        before, after = (round(rng.uniform(0.12, 0.4) * RATE) for _ in range(2))
        events.append(Event(kind, (at + before) / RATE, (at + before + len(piece)) / RATE))
        parts += [np.zeros(before, np.float32), piece, np.zeros(after, np.float32), _speech(rng)]
    whole = np.concatenate(parts)
    if floor_db > -100:
        whole = whole + room_tone(rng, len(whole), floor_db)
    whole = whole + _under(rng, kinds, len(whole), floor_db)
    return Track(np.asarray(whole, np.float32), tuple(events))


def _under(rng: Rng, kinds: tuple[str, ...], count: int, floor_db: float) -> Samples:
    """Steady hum or hiss under a whole track that asks for one."""
    out = np.zeros(count, np.float32)
    if "hum" in kinds:
        out = out + hum(rng, count, max(floor_db, -60.0) + 10)
    if "hiss" in kinds:
        out = out + hiss(rng, count, max(floor_db, -75.0))
    return out


def _event(rng: Rng, kind: str, recipe: str, level_db: float) -> Samples:
    if kind == "breath":
        return breath(rng, float(rng.uniform(0.18, 0.9)), level_db, recipe)
    if kind == "smack":
        return smack(rng, level_db + 6)
    return _nothing(rng, kind, float(rng.uniform(0.2, 0.8)), level_db)
