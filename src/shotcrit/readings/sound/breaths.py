"""Breaths and smacks in the pauses.

A breath is noise with no pitch that rises over the pause's own floor in many bands at once, for 0.12 s or longer, with the falling spectrum of
an inhalation (Werner et al. 2023, references.md 3.1). A smack is a click of the mouth. What is steady (hiss, room tone, hum) is the floor
itself and gives nothing; s, sh, f, th have rising or level spectra; h and the release of a stop stick to the voice.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
import numpy.typing as npt
from scipy.ndimage import uniform_filter1d
from scipy.signal import butter, sosfiltfilt

from shotcrit.clock import Span, runs
from shotcrit.readings.events import Breath, Word
from shotcrit.readings.sound.spectra import BAND_EDGES_HZ, FRAME_S, Spectra, measure_spectra, to_db
from shotcrit.readings.sound.voicing import voiced_frames
from shotcrit.readings.sound.waveform import RATE, Samples

Floats = npt.NDArray[np.float32]
Bools = npt.NDArray[np.bool_]

SHORTEST_BREATH_S = 0.12
"""checks.md; short catch breaths last 0.1 to 0.2 s (references.md 3.8, from memory)."""
LONGEST_INHALE_S = 1.1
"""Breathing in within talk takes less than a second (Autesserre et al. 1989, references.md 3.5); longer is a sigh, taken as out."""
LONGEST_BREATH_S = 3.0
"""Longer noise is the place, not a person (guess)."""
SHORTEST_PAUSE_S = 0.15
"""A gap between voiced stretches under this is a consonant (closure and release total 86 +- 31 ms, references.md 2.3)."""
ON_DB, OFF_DB, CLEAR_DB = 4.0, 2.0, 5.0
"""Rise over the floor, mean of the bands: where an event must get to, where it ends, and how high its peak must be (guess;
a steady noise strays by about 1 dB)."""
STEEPEST_TILT = -1.5
"""dB an octave, 300 Hz to 8 kHz; a breath falls faster. White noise has 0, s rises (guess, between these)."""
HIGH_SHARE_DB = -2.0
"""Power from 3 to 8 kHz against that from 300 Hz to 3 kHz; a breath has less than this. White noise has +2.7 (guess)."""
PITCHED = 0.55
"""Autocorrelation above 250 Hz from which a noise is a tone or a voice (as in voicing.py, a little wider)."""
DEEPEST_DB = 62.0
"""Under the loud speech; fainter events are nobody's breath (guess: the faintest that an animator acts is about 45)."""
QUIETEST_DB = -85.0
"""dB re full scale, the lowest floor reckoned with: below it is dither and codec noise (guess)."""
_SEEN = slice(2, 11)
"""Bands looked at for rises, 300 Hz to 6.6 kHz: above mains hum and its first harmonics."""
_EDGE_S = 0.05
"""Left out at a pause's ends when its floor is estimated: voice rings on so long."""
_AROUND_S = 8.0
"""Floor of a pause that has no quiet part: from all pauses so far around (guess)."""

SMACK_DB = 9.0
"""Rise of a click over the floor, mean of the bands above 800 Hz (guess)."""
LONGEST_SMACK_S = 0.1
"""Of the event on 32 ms windows; the click itself lasts 5 to 50 ms (guess)."""
_SMACK_BEFORE_VOICE_S, _SMACK_AFTER_VOICE_S = 0.1, 0.15
"""Nearer to a voice a click is a stop's release: closure and release total 86 +- 31 ms (references.md 2.3)."""


@dataclass(frozen=True)
class _Pause:
    """Frames first..stop-1 with no speech; floor: float32 [shape=(12,)] power per band."""

    first: int
    stop: int
    floor: Floats


def find_breaths(samples: Samples, words: Sequence[Word] = (), *, spectra: Spectra | None = None) -> tuple[Breath, ...]:
    """Breaths and smacks, in order of time. samples : float32 [shape=(n,)] at 16 kHz; all times in seconds from sample 0.

    words : where speech is known to be; without them the voiced stretches stand for it.
    """
    spectra = spectra or measure_spectra(samples)
    if len(spectra) < SHORTEST_BREATH_S / FRAME_S:
        return ()
    voiced = voiced_frames(spectra)
    loud_db = float(np.quantile(spectra.level_db[voiced], 0.9)) if voiced.any() else float(spectra.level_db.max())
    found: list[Breath] = []
    for pause in _pauses(spectra, voiced, words):
        found += _in_pause(samples, spectra, voiced, pause, loud_db, bool(words))
    return tuple(sorted(found, key=lambda b: b.start_s))


def _pauses(spectra: Spectra, voiced: Bools, words: Sequence[Word]) -> list[_Pause]:
    speech = voiced.copy()
    for word in words:
        speech[max(0, round(word.start_s / FRAME_S)) : round(word.end_s / FRAME_S) + 1] = True
    spans = [s for s in runs(~speech) if len(s) * FRAME_S >= SHORTEST_PAUSE_S or s.start == 0 or s.stop == len(speech)]
    smooth = uniform_filter1d(spectra.bands, 5, axis=0)
    quiet = np.zeros(len(speech), np.bool_)
    for span in spans:
        quiet[_inner(span)] = True
    return [_Pause(s.start, s.stop, _floor(smooth, s, quiet)) for s in spans]


def _inner(span: Span) -> slice:
    edge = min(round(_EDGE_S / FRAME_S), (len(span) - 1) // 2)
    return slice(span.start + edge, span.stop - edge)


def _floor(smooth: Floats, span: Span, quiet: Bools) -> Floats:
    """The pause's own quiet part; no higher than the quiet part of the pauses around it."""
    own = np.quantile(smooth[_inner(span)], 0.15, axis=0)
    reach = round(_AROUND_S / FRAME_S)
    near = slice(max(0, span.start - reach), span.stop + reach)
    around = np.quantile(smooth[near][quiet[near]], 0.08, axis=0) if quiet[near].any() else own
    return np.asarray(np.maximum(np.minimum(own, around * 2), 10 ** (QUIETEST_DB / 10) / 256), np.float32)


def _in_pause(samples: Samples, spectra: Spectra, voiced: Bools, pause: _Pause, loud_db: float, by_words: bool) -> list[Breath]:
    rise = to_db(spectra.bands[pause.first : pause.stop]) - to_db(pause.floor)
    curve = uniform_filter1d(rise[:, _SEEN].mean(axis=1), 3)
    found: list[Breath] = []
    for event in _events(curve):
        length = len(event) * FRAME_S
        if length < SHORTEST_BREATH_S:
            found += _smack(samples, spectra, voiced, pause, rise, event, by_words)
        elif length <= LONGEST_BREATH_S:
            found += _breath(samples, spectra, voiced, pause, curve, event, loud_db)
    return found


def _events(curve: Floats) -> list[Span]:
    """Stretches over OFF_DB that somewhere reach ON_DB; split where a dip halves the rise."""
    return [span for span in runs(curve > OFF_DB) if curve[span.start : span.stop].max() >= ON_DB]


def _breath(samples: Samples, spectra: Spectra, voiced: Bools, pause: _Pause, curve: Floats, event: Span, loud_db: float) -> list[Breath]:
    rise = curve[event.start : event.stop]
    first, stop = pause.first + event.start, pause.first + event.stop
    core = np.flatnonzero(rise >= 0.6 * rise.max()) + first
    power = np.maximum(spectra.bands[core].mean(axis=0) - pause.floor, 1e-14)
    tilt, high = _tilt(power), _high_share_db(power)
    level = float(spectra.level_db[core].max())
    if rise.max() < CLEAR_DB or tilt > STEEPEST_TILT or high > HIGH_SHARE_DB or level < loud_db - DEEPEST_DB:
        return []
    if _bands_risen(spectra, core, pause) < 4 or _pitch_strength(samples, first, stop) > PITCHED or _clings(voiced, rise, first, stop):
        return []
    start_s, end_s = max(0.0, first * FRAME_S), stop * FRAME_S
    kind: Literal["inhale", "exhale"] = "exhale" if end_s - start_s > LONGEST_INHALE_S or _follows_voice(voiced, first, stop) else "inhale"
    over = float(10 * np.log10(power.sum() / pause.floor.sum() + 1))
    sure = _sigmoid((float(rise.max()) - CLEAR_DB) / 3) * _sigmoid((STEEPEST_TILT - tilt) / 1.0 + 1) * (0.8 if kind == "exhale" else 1.0)
    return [Breath(kind, start_s, end_s, over, round(float(np.clip(2 * sure - 0.2, 0.05, 1.0)), 3))]


def _sigmoid(x: float) -> float:
    return float(1 / (1 + np.exp(-x)))


def _centres() -> Floats:
    edges = np.array(BAND_EDGES_HZ, np.float32)
    return np.asarray((edges[1:] + edges[:-1]) / 2, np.float32)


def _tilt(power: Floats) -> float:
    """dB an octave of a mean spectrum from 300 Hz up, least squares."""
    x, y = np.log2(_centres()[2:]), to_db(power[2:])
    return float(np.polyfit(x, y, 1)[0])


def _high_share_db(power: Floats) -> float:
    widths = np.diff(np.array(BAND_EDGES_HZ, np.float32))
    total = power * widths
    return float(10 * np.log10(total[8:].sum() / max(float(total[2:8].sum()), 1e-20) + 1e-9))


def _bands_risen(spectra: Spectra, core: npt.NDArray[np.intp], pause: _Pause) -> int:
    return int((to_db(spectra.bands[core].mean(axis=0))[_SEEN] - to_db(pause.floor)[_SEEN] > 3.0).sum())


def _pitch_strength(samples: Samples, first: int, stop: int) -> float:
    """Median autocorrelation peak of the stretch above 250 Hz, where mains hum does not reach."""
    hop = round(FRAME_S * RATE)
    piece = samples[max(0, first * hop - hop) : stop * hop + hop]
    if len(piece) < 10 * hop:
        return 0.0
    high = sosfiltfilt(butter(4, 250, "highpass", fs=RATE, output="sos"), piece).astype(np.float32)
    return float(np.median(measure_spectra(high).strength[2:-2]))


def _clings(voiced: Bools, rise: Floats, first: int, stop: int) -> bool:
    """True for a tail of the voice before (its loudest part comes first and it falls from there), and for an h that runs into the voice."""
    near = round(0.03 / FRAME_S)
    after_voice = bool(voiced[max(0, first - near) : first].any())
    into_voice = bool(voiced[stop : stop + near].any())
    if after_voice and rise.argmax() < 0.35 * len(rise):
        return True
    return (into_voice or after_voice) and len(rise) * FRAME_S < 0.2


def _follows_voice(voiced: Bools, first: int, stop: int) -> bool:
    """Breath right after speech, with no speech soon after it: the rest of the air going out."""
    before, after = round(0.2 / FRAME_S), round(0.8 / FRAME_S)
    return bool(voiced[max(0, first - before) : first].any()) and not voiced[stop : stop + after].any()


def _smack(samples: Samples, spectra: Spectra, voiced: Bools, pause: _Pause, rise: Floats, event: Span, by_words: bool) -> list[Breath]:
    part = rise[event.start : event.stop, 4:]
    first, stop = pause.first + event.start, pause.first + event.stop
    before, after = (0.03, 0.03) if by_words else (_SMACK_AFTER_VOICE_S, _SMACK_BEFORE_VOICE_S)
    near = slice(max(0, first - round(before / FRAME_S)), stop + round(after / FRAME_S))
    if len(event) * FRAME_S > LONGEST_SMACK_S or part.mean(axis=1).max() < SMACK_DB or voiced[near].any():
        return []
    click = _click(samples, first, stop)
    if click is None:
        return []
    peak = first + int(part.mean(axis=1).argmax())
    over = float(10 * np.log10(spectra.bands[peak].sum() / pause.floor.sum()))
    sure = float(np.clip((part.mean(axis=1).max() - SMACK_DB) / 20 + 0.5, 0, 1))
    return [Breath("smack", click[0], click[1], over, round(sure, 3))]


def _click(samples: Samples, first: int, stop: int) -> tuple[float, float] | None:
    """Start and end of a click in seconds, or None for a fault of the recording (one stray sample)."""
    hop, fine = round(FRAME_S * RATE), RATE // 1000
    at = max(0, (first - 1) * hop)
    piece = np.abs(samples[at : (stop + 1) * hop])
    blocks = piece[: len(piece) // fine * fine].reshape(-1, fine).max(axis=1)
    over = np.flatnonzero(blocks > 0.25 * blocks.max())
    if len(over) < 3:
        return None
    return at / RATE + float(over[0]) * 0.001, at / RATE + float(over[-1] + 1) * 0.001
