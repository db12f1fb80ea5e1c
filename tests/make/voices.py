"""Speech with known phone times, from the voices of Festival and Flite (Debian packages), made once into the test cache."""

from __future__ import annotations

import hashlib
import subprocess
import wave
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

import numpy as np
import numpy.typing as npt
from scipy.signal import resample_poly

from shotcrit.media.info import Sound
from tests.make.packages import cache_dir, made_once

Samples = npt.NDArray[np.float32]
RATE = 16_000

FESTIVAL = ("kal_diphone", "cmu_us_slt_arctic_hts")
FLITE = ("slt", "rms", "awb")
VOICES = (*FESTIVAL, *(f"flite_{name}" for name in FLITE))

SENTENCES = (
    "Oona lit the lantern before the storm came in.",
    "Have you ever seen a wave as tall as this house?",
    "Nobody keeps the light but me, and I am tired of it.",
    "Give me the rope, quickly, or we lose the boat.",
    "Perhaps the gulls will tell us where the harbour is.",
    "My father built this tower with his own two hands.",
    "Bram, please put that down before you break it.",
    "The fog is thick enough to chew, she said.",
    "I never asked for any of your measured advice.",
    "Five small ships went past the point at dawn.",
)

_SILENT = {"pau", "#", "h#", "sil", "ssil", "brth"}
_REDUCED = {"ax": "AH", "axr": "ER", "ix": "IH", "dx": "T", "el": "L", "em": "M", "en": "N", "nx": "N", "hv": "HH"}


def to_cmu(label: str) -> str | None:
    """A label of Festival's radio phone set as one of the 39; None for silence. A flap (dx) counts as T, as CMUdict spells it."""
    name = label.lower()
    if name in _SILENT:
        return None
    return _REDUCED.get(name, name.upper())


@dataclass(frozen=True)
class Speech:
    """samples : float32 [shape=(n,)] at 16 kHz; phones : (phone of the 39, start_s, end_s), silence left out."""

    text: str
    voice: str
    samples: Samples
    phones: tuple[tuple[str, float, float], ...]

    @property
    def sound(self) -> Sound:
        return as_sound(self.samples)


def as_sound(samples: Samples, rate: int = RATE, offset_s: Fraction = Fraction(0)) -> Sound:
    """One channel."""
    return Sound(np.asarray(samples, np.float32)[:, None], rate, offset_s)


def say(text: str, voice: str = "kal_diphone") -> Speech:
    """`text` spoken by a voice of VOICES, with that voice's own phone times."""
    key = hashlib.sha256(f"{voice}|{text}".encode()).hexdigest()[:24]
    folder = cache_dir("voices")
    sound, labels = folder / f"{key}.wav", folder / f"{key}.phones"

    def speak() -> None:
        made = _flite(text, voice.removeprefix("flite_"), sound) if voice.startswith("flite_") else _festival(text, voice, sound)
        part = labels.with_suffix(".part")
        part.write_text("\n".join(f"{name} {end}" for name, end in made), encoding="utf-8")
        part.replace(labels)

    made_once(labels, speak)
    rows = [row.split() for row in labels.read_text(encoding="utf-8").splitlines()]
    ends = [float(end) for _, end in rows]
    timed = zip((to_cmu(name) for name, _ in rows), [0.0, *ends[:-1]], ends, strict=True)
    return Speech(text, voice, read_wav(sound), tuple((name, start, end) for name, start, end in timed if name))


def _festival(text: str, voice: str, sound: Path) -> list[tuple[str, float]]:
    segments = sound.with_suffix(".segs")
    said = text.replace("\\", " ").replace('"', " ")
    script = f"""(voice_{voice})(set! u (SynthText "{said}"))(utt.save.wave u "{sound}" 'riff)(utt.save.segs u "{segments}")"""
    subprocess.run(["festival", "--pipe"], input=script, text=True, check=True, capture_output=True)
    rows = [row.split() for row in segments.read_text(encoding="utf-8").splitlines()]
    return [(row[2], float(row[0])) for row in rows if len(row) == 3]


def _flite(text: str, voice: str, sound: Path) -> list[tuple[str, float]]:
    done = subprocess.run(["flite", "-voice", voice, "-psdur", "-t", text, "-o", str(sound)], capture_output=True, text=True, check=True)
    return [(name, float(end)) for name, _, end in (item.partition(":") for item in done.stdout.split())]


def whisper(text: str, *, female: bool = False) -> Samples:
    """`text` whispered by espeak-ng: noise through a vocal tract, by another hand than ours."""
    voice = "en+whisperf" if female else "en+whisper"
    sound = cache_dir("voices") / f"{hashlib.sha256(f'{voice}|{text}'.encode()).hexdigest()[:24]}.wav"

    def speak() -> None:
        part = sound.with_suffix(".part.wav")
        subprocess.run(["espeak-ng", "-v", voice, "-s", "80", "-w", str(part), text], check=True, capture_output=True)
        part.replace(sound)

    made_once(sound, speak)
    return read_wav(sound)


def read_wav(path: Path) -> Samples:
    """float32 [shape=(n,)] at 16 kHz, from a 16-bit WAV of one channel."""
    with wave.open(str(path)) as file:
        data = np.frombuffer(file.readframes(file.getnframes()), "<i2").astype(np.float32) / 32768
        step = Fraction(RATE, file.getframerate())
    return data if step == 1 else np.asarray(resample_poly(data, step.numerator, step.denominator), np.float32)


def speech_level(samples: Samples) -> float:
    """Mean power of the loud part, dB re full scale: 20 ms blocks within 20 dB of the loudest."""
    blocks = (samples[: len(samples) // 320 * 320].reshape(-1, 320) ** 2).mean(axis=1)
    return float(10 * np.log10(blocks[blocks > blocks.max() / 100].mean()))
