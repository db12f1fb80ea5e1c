"""Speech from Festival with its own phone times, breaths and room tone by synthesis, and the mix of a take.

All sound is float64 mono at RATE, full scale 1.0. Times are seconds from the start of the array that they belong to.
"""

from __future__ import annotations

import subprocess
from dataclasses import dataclass
from math import gcd
from pathlib import Path

import numpy as np
from scipy.io import wavfile
from scipy.signal import butter, fftconvolve, lfilter, resample_poly, sosfilt

RATE = 48000
PEAK = 0.5
"""Loudest sample of a spoken phrase, full scale (about -6 dBFS)."""
ROOM_TONE_DB = -66.0
"""dBFS, rms; a quiet bay at dusk (guess)."""


@dataclass(frozen=True)
class Phone:
    """One phone in lower-case radio symbols, as Festival names them. 'pau' is silence."""

    name: str
    start_s: float
    end_s: float


@dataclass(frozen=True)
class Phrase:
    """What Festival made of one text."""

    sound: np.ndarray
    phones: tuple[Phone, ...]

    @property
    def duration_s(self) -> float:
        return len(self.sound) / RATE


def speak(text: str, *, voice: str, stretch: float, setup: str, work: Path) -> Phrase:
    """Synthesise one phrase. `setup` is more Scheme for the voice; the wave and the segments are saved in `work`."""
    work.mkdir(parents=True, exist_ok=True)
    wave, segs = work / "phrase.wav", work / "phrase.segs"
    script = work / "phrase.scm"
    script.write_text(
        f"({voice})\n(Parameter.set 'Duration_Stretch {stretch})\n{setup}\n"
        f'(set! u (utt.synth (Utterance Text "{text}")))\n'
        f'(utt.save.wave u "{wave}" \'riff)\n(utt.save.segs u "{segs}")\n'
    )
    subprocess.run(["festival", "-b", str(script)], check=True, capture_output=True)
    rate, raw = wavfile.read(wave)
    sound = _resampled(raw.astype(np.float64) / 32768.0, rate)
    return _trimmed(Phrase(sound * PEAK / np.abs(sound).max(), _read_segments(segs)))


def _resampled(sound: np.ndarray, rate: int) -> np.ndarray:
    shared = gcd(rate, RATE)
    return resample_poly(sound, RATE // shared, rate // shared)


def _read_segments(path: Path) -> tuple[Phone, ...]:
    """An Xwaves label file: after '#', one 'end colour name' a line."""
    rows = [line.split() for line in path.read_text().split("#", 1)[1].splitlines() if line.strip()]
    phones, start = [], 0.0
    for end, _, name in rows:
        phones.append(Phone(name, start, float(end)))
        start = float(end)
    return tuple(phones)


def _trimmed(phrase: Phrase) -> Phrase:
    """Without the silences at both ends, which the story places itself."""
    spoken = [p for p in phrase.phones if p.name not in ("pau", "h#")]
    first, last = spoken[0].start_s, spoken[-1].end_s
    cut = phrase.sound[int(first * RATE) : int(last * RATE)].copy()
    fade = min(len(cut) // 4, RATE // 250)
    cut[:fade] *= np.linspace(0, 1, fade)
    cut[-fade:] *= np.linspace(1, 0, fade)
    inside = [p for p in phrase.phones if p.start_s >= first - 1e-6 and p.end_s <= last + 1e-6]
    return Phrase(cut, tuple(Phone(p.name, p.start_s - first, p.end_s - first) for p in inside))


def breath(duration_s: float, *, level_db: float, seed: int) -> np.ndarray:
    """An inhalation: noise through a vocal tract that is open and still, swelling, then stopped by the voice.

    Broad resonances near 1.6 and 2.9 kHz over a falling spectrum; the shape follows descriptions of read-speech breaths.
    level_db : rms of its loudest tenth, dBFS
    """
    n = int(duration_s * RATE)
    noise = np.random.default_rng(seed).normal(size=n + RATE)
    out = np.zeros_like(noise)
    for centre, width, gain in ((700, 600, 0.5), (1600, 700, 1.0), (2900, 1200, 0.6), (5200, 3000, 0.22)):
        band = butter(2, [centre - width / 2, centre + width / 2], "bandpass", fs=RATE, output="sos")
        out += gain * sosfilt(band, noise)
    out = out[RATE:]
    t = np.linspace(0, 1, n)
    swell = np.sin(np.pi * np.clip(t / 0.62, 0, 1) / 2) ** 1.5 * (1 - np.clip((t - 0.78) / 0.22, 0, 1) ** 1.4)
    out *= swell
    return out * 10 ** (level_db / 20) / np.sqrt(np.mean(np.sort(out**2)[-n // 10 :]))


def room_tone(duration_s: float, *, seed: int) -> np.ndarray:
    """Far surf: pinkish noise that comes and goes slowly."""
    n = int(duration_s * RATE)
    rng = np.random.default_rng(seed)
    pink = lfilter([0.05], [1, -0.95], rng.normal(size=n))
    t = np.arange(n) / RATE
    surf = 1 + 0.25 * np.sin(2 * np.pi * t / 5.3 + 1.0) + 0.12 * np.sin(2 * np.pi * t / 3.1)
    tone = pink * surf
    return tone * 10 ** (ROOM_TONE_DB / 20) / np.sqrt(np.mean(tone**2))


def roomy(sound: np.ndarray, *, wet: float, seed: int) -> np.ndarray:
    """A touch of open-air reflection, so that the two voices stand in one place."""
    n = int(0.18 * RATE)
    tail = np.random.default_rng(seed).normal(size=n) * np.exp(-np.arange(n) / (0.035 * RATE))
    tail = sosfilt(butter(2, [300, 4500], "bandpass", fs=RATE, output="sos"), tail)
    tail *= wet / np.sqrt(np.sum(tail**2))
    return sound + fftconvolve(sound, tail)[: len(sound)]


def mixed(pieces: list[tuple[float, np.ndarray]], duration_s: float, *, seed: int) -> np.ndarray:
    """Every piece at its start (s), over room tone; int16, mono."""
    n = round(duration_s * RATE)
    dry = np.zeros(n)
    for start_s, sound in pieces:
        at = round(start_s * RATE)
        end = min(n, at + len(sound))
        dry[at:end] += sound[: end - at]
    out = roomy(dry, wet=0.035, seed=seed) + room_tone(duration_s, seed=seed + 1)[:n]
    return (np.clip(out, -0.99, 0.99) * 32767).astype(np.int16)
