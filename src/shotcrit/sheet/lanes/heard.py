"""What is heard: wave, accents, words, phones, air."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from shotcrit.clock import FrameClock
from shotcrit.counted import real
from shotcrit.readings.bundle import SoundReadings
from shotcrit.readings.events import Accent
from shotcrit.sheet.lanes.scales import Floats
from shotcrit.sheet.model import Curve, Lane, Stretch, StretchKind

UNSURE = 0.5
"""Below this confidence a word is drawn broken (guess: more likely wrong than right)."""
LEANS_SHOWN = 3
"""Accents ranked up to this are large (guess: three lean points make a line)."""
_AIR: dict[str, str] = {"inhale": "in", "exhale": "out", "smack": "smack"}


def heard_lanes(sound: SoundReadings, clock: FrameClock) -> Iterator[Lane]:
    """One lane for each column that the sound fills."""
    wave = (Curve("sound.wave", _loudest(sound.wave)),) if sound.wave.size else ()
    yield Lane("sound", None, tuple(_lean(a, clock) for a in sound.accents), wave)
    yield Lane("words", None, tuple(_words(sound, clock)))
    yield Lane("phones", None, tuple(_phones(sound, clock)))
    yield Lane("air", None, tuple(_air(sound, clock)))


def _loudest(wave: Floats) -> Floats:
    """The wave at the height of its own loudest sample."""
    top = float(np.nanmax(np.abs(wave))) if np.isfinite(wave).any() else 0.0
    return (wave / top if top > 0 else wave).astype(np.float32)


def _lean(accent: Accent, clock: FrameClock) -> Stretch:
    at = clock.position(accent.time_s)
    return Stretch(at, at, "lean" if accent.rank <= LEANS_SHOWN else "lean_slight", str(accent.rank))


def _words(sound: SoundReadings, clock: FrameClock) -> Iterator[Stretch]:
    line, voices = None, list(dict.fromkeys(word.who for word in sound.words))
    for i, word in enumerate(sound.words):
        sure = word.confidence >= UNSURE
        yield Stretch(
            clock.position(word.start_s),
            clock.position(word.end_s),
            "word_other" if voices.index(word.who) else "word",
            word.text if sure else f"{word.text} ?",
            word.who,
            sure,
            leads=word.line != line,
            event=i,
        )
        line = word.line


def _phones(sound: SoundReadings, clock: FrameClock) -> Iterator[Stretch]:
    for i, phone in enumerate(sound.phones):
        kind: StretchKind = "phone_stressed" if phone.stress == 1 else "phone"
        yield Stretch(clock.position(phone.start_s), clock.position(phone.end_s), kind, phone.phone, event=i)


def _air(sound: SoundReadings, clock: FrameClock) -> Iterator[Stretch]:
    for i, breath in enumerate(sound.breaths):
        yield Stretch(clock.position(breath.start_s), clock.position(breath.end_s), breath.kind, _AIR[breath.kind], breath.who, event=i)
    for shake in sound.tremors:
        yield Stretch(clock.position(shake.start_s), clock.position(shake.end_s), "tremor", f"shakes {real(shake.rate_hz)} Hz")
