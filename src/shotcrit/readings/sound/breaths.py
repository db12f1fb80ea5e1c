"""Breaths and smacks in the pauses.

A breath is noise with no pitch that rises over the pause's own floor in many bands at once, for 0.12 s or longer, with the falling spectrum of
an inhalation (Werner et al. 2023). A smack is a click of the mouth. What is steady (hiss, room tone, hum) is the floor
itself and gives nothing; s, sh, f, th have rising or level spectra; h and the release of a stop stick to the voice. What is left is a person's only beside
speech, and not where phones are heard (breathers.py).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
import numpy.typing as npt

from shotcrit.clock import Span, runs
from shotcrit.progress import Quiet
from shotcrit.readings.events import Breath, Word
from shotcrit.readings.sound.breathers import of_people
from shotcrit.readings.sound.denoise import clearance_db, without_noise
from shotcrit.readings.sound.listen import Heard, listen
from shotcrit.readings.sound.periodic import tone_strength
from shotcrit.readings.sound.smooth import running_mean
from shotcrit.readings.sound.spectra import BAND_EDGES_HZ, FRAME_S, Spectra, measure_spectra, to_db
from shotcrit.readings.sound.voicing import voiced_frames
from shotcrit.readings.sound.waveform import RATE, Samples

Floats = npt.NDArray[np.float32]
Bools = npt.NDArray[np.bool_]

SHORTEST_BREATH_S = 0.12
"""Short catch breaths last 0.1 to 0.2 s (from memory)."""
LONGEST_INHALE_S = 1.1
"""Breathing in within talk takes less than a second (Autesserre et al. 1989); longer is a sigh, taken as out."""
LONGEST_BREATH_S = 3.0
"""Longer noise is the place, not a person (guess)."""
SHORTEST_PAUSE_S = 0.15
"""A gap between voiced stretches under this is a consonant (closure and release total 86 +- 31 ms, Crystal & House 1988)."""
ON_DB, OFF_DB, CLEAR_DB = 4.0, 2.0, 5.0
"""Rise over the floor, mean of the bands: where an event must get to, where it ends, and how high its peak must be (guess;
a steady noise strays by about 1 dB)."""
CORE_DB = 12.0
"""An event's length is counted where it lies within so much of its peak (guess: a quarter of the amplitude)."""
WEDGED_S = 0.42
"""A noise that fills a gap shorter than this from voice to voice is a cluster of consonants (guess: two of them and a stop)."""
LEAST_FALL_DB = 8.0
"""Mean power a hertz between 500 Hz and 3 kHz over that from 4 to 8 kHz; a breath's spectrum falls by more. Measured on generated and synthetic
sounds: breaths 11 to 29, white noise 0, f and th mostly -2 to 0, sh -15 to 6, s less."""
SLIGHT_FALL_DB, SLIGHT_TILT, SLIGHT_S, SLIGHT_BESIDE_VOICE_S = 4.0, -2.0, 0.16, 0.3
"""A spectrum that falls only as pink noise does (6 dB, -3 dB an octave; measured) is a breath when it is longer than a consonant that stands alone, and longer
still beside a voice: of six synthetic voices, f and th reach 7 dB and are mostly under 0.16 s (the lengths are guesses)."""
STEEPEST_TILT = 0.3
"""dB an octave from 300 Hz to 8 kHz: more is a noise with its peak high up (sh, ch), even when it ends below 4 kHz (measured, the same sounds)."""
PITCHED = 0.32
"""Tone strength (periodic.py) from which a noise is a tone or a voice. Noise of any colour has 0.19 to 0.25, synthetic voices 0.34 to 0.77."""
LEAST_BANDS = 3
"""Bands of six that must rise 3 dB over the floor: fewer are a hum or a whistle (guess)."""
DEEPEST_DB = 62.0
"""Under the loud speech; fainter events are nobody's breath (guess: the faintest that an animator acts is about 45)."""
QUIETEST_DB = -85.0
"""dB re full scale, the lowest floor reckoned with: below it is dither and codec noise (guess)."""
_SEEN = slice(2, 8)
"""Bands looked at for rises, 300 Hz to 3 kHz: above mains hum and its first harmonics, where breaths have their peaks (Werner et al. 2023)."""
_EDGE_S = 0.05
"""Left out at a pause's ends when its floor is estimated: voice rings on so long."""
_AROUND_S = 8.0
"""Floor of a pause that has no quiet part: from all pauses so far around (guess)."""

SMACK_DB = 9.0
"""Rise of a click over the floor, mean of the bands above 800 Hz (guess)."""
LONGEST_SMACK_S = 0.1
"""Of the event on 32 ms windows; the click itself lasts 5 to 50 ms (guess)."""
SMACK_PAUSE_S = 0.4
"""Without words a click counts in pauses of this length at least: shorter ones hold a stop's closure and release (guess)."""
CLICK_ABOVE_HZ = 700.0
"""Below this, Hz, mains hum and its harmonics are cut off before a click is measured (guess)."""
_LEAD = 800
"""Samples before a click that are filtered with it, so that the filter has settled."""
CLICK_EDGE = 0.25
"""A click lasts while it is over this fraction of its peak (guess)."""
STRAY_SAMPLES = 6
"""Samples over that edge, fewer than which are an edit's or a converter's fault: 6 of 16 kHz are 0.4 ms (guess)."""
CLICK_MS, CLICK_SHARE, LONGEST_CLICK_MS = 8, 0.5, 32
"""A click has this share of its power within so many milliseconds, and ends after so many; h and f spread theirs (guess)."""
RELEASE_DB, RELEASE_MS, LONGEST_RELEASE_S = 11.0, 15, 0.3
"""What comes on by so much within so many milliseconds, and is over so soon, is a stop's release and what is breathed after it: 'to clarify' said under the
breath, the p of 'wrap' at an end. Breaths come on slowly: of 18 in read speech none rose by more than 9.1 dB, the two releases that passed for some by 12.6
and 25 (measured on strangers' speech under 35 to 45 dB of room tone)."""
_FINE = 80
"""Samples between two levels of an onset, 5 ms."""
_SOON = 12
"""Levels, 60 ms: a breath takes longer than that to be as loud as it gets (guess)."""
_SMACK_BY_WORDS_S = 0.06
"""Distance from a voice where the words are known: their edges are good to a frame of the model, 10 ms."""
_SMACK_BEFORE_VOICE_S, _SMACK_AFTER_VOICE_S = 0.1, 0.15
"""Nearer to a voice a click is a stop's release: closure and release total 86 +- 31 ms (Crystal & House 1988)."""


@dataclass(frozen=True)
class _Pause:
    """Frames first..stop-1 with no speech; floor: float32 [shape=(12,)] power per band."""

    first: int
    stop: int
    floor: Floats


def find_breaths(
    samples: Samples, words: Sequence[Word] = (), *, spectra: Spectra | None = None, heard: Sequence[Heard] | None = None
) -> tuple[Breath, ...]:
    """Breaths and smacks, in order of time. samples : float32 [shape=(n,)] at 16 kHz; all times in seconds from sample 0.

    words : where speech is known to be; without them the voiced stretches stand for it. heard : phones as listen hears them
    """
    spectra = spectra or measure_spectra(samples)
    if len(spectra) < SHORTEST_BREATH_S / FRAME_S:
        return ()
    voiced = voiced_frames(spectra, samples)
    loud_db = float(np.quantile(spectra.level_db[voiced], 0.9)) if voiced.any() else float(spectra.level_db.max())
    found: list[Breath] = []
    for pause in _pauses(spectra, voiced, words):
        found += _in_pause(samples, spectra, voiced, pause, loud_db, bool(words))
    if not found:
        return ()
    phones = heard if heard is not None else listen(without_noise(samples), Quiet()).heard
    return of_people(sorted(found, key=lambda b: b.start_s), phones, words, voiced, clearance_db(samples))


def with_levels(breaths: Sequence[Breath], samples: Samples, words: Sequence[Word], spectra: Spectra) -> tuple[Breath, ...]:
    """The same breaths, each with its level over the noise floor of the pause it lies in, dB: for those that somebody else's hand has placed."""
    if not len(spectra):
        return tuple(breaths)
    pauses = _pauses(spectra, voiced_frames(spectra, samples), words)
    return tuple(replace(b, level_db=_level_over(spectra, pauses, b)) for b in breaths)


def _level_over(spectra: Spectra, pauses: Sequence[_Pause], breath: Breath) -> float:
    first = min(max(0, round(breath.start_s / FRAME_S)), len(spectra) - 1)
    stop = max(first + 1, round(breath.end_s / FRAME_S))
    floor = max(pauses, key=lambda p: min(p.stop, stop) - max(p.first, first)).floor if pauses else spectra.bands.min(axis=0)
    power = np.maximum(spectra.bands[first:stop].mean(axis=0) - floor, 0)
    return float(10 * np.log10(power[_SEEN].sum() / max(float(floor[_SEEN].sum()), 1e-20) + 1))


def _pauses(spectra: Spectra, voiced: Bools, words: Sequence[Word]) -> list[_Pause]:
    speech = voiced.copy()
    for word in words:
        speech[max(0, round(word.start_s / FRAME_S)) : round(word.end_s / FRAME_S) + 1] = True
    spans = [s for s in runs(~speech) if len(s) * FRAME_S >= SHORTEST_PAUSE_S or s.start == 0 or s.stop == len(speech)]
    smooth = running_mean(spectra.bands, 5, axis=0)
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
    curve = running_mean(rise[:, _SEEN].mean(axis=1), 3)
    found: list[Breath] = []
    for event in _events(curve):
        length = len(event) * FRAME_S
        if _core_s(spectra, pause, event) < SHORTEST_BREATH_S:
            found += _smack(samples, spectra, voiced, pause, rise, event, by_words)
        elif length <= LONGEST_BREATH_S:
            found += _breath(samples, spectra, voiced, pause, curve, event, loud_db)
    return found


def _events(curve: Floats) -> list[Span]:
    """Stretches over OFF_DB that somewhere reach ON_DB; split where a dip halves the rise."""
    return [span for span in runs(curve > OFF_DB) if curve[span.start : span.stop].max() >= ON_DB]


def _core_s(spectra: Spectra, pause: _Pause, event: Span) -> float:
    """How long the event is within CORE_DB of its loudest moment, seconds: a short loud noise looks longer on its way into a low floor."""
    level = spectra.level_db[pause.first + event.start : pause.first + event.stop]
    return int((level > level.max() - CORE_DB).sum()) * FRAME_S


def _breath(samples: Samples, spectra: Spectra, voiced: Bools, pause: _Pause, curve: Floats, event: Span, loud_db: float) -> list[Breath]:
    rise = curve[event.start : event.stop]
    first, stop = pause.first + event.start, pause.first + event.stop
    core = np.flatnonzero(rise >= 0.6 * rise.max()) + first
    power = np.maximum(spectra.bands[core].mean(axis=0) - pause.floor, 1e-14)
    tilt, fall = _tilt(power), _fall_db(power)
    level = float(spectra.level_db[core].max())
    falls = fall >= LEAST_FALL_DB or (fall >= SLIGHT_FALL_DB and tilt <= SLIGHT_TILT and _stands_apart(spectra, voiced, first, stop))
    if rise.max() < CLEAR_DB or tilt > STEEPEST_TILT or not falls or level < loud_db - DEEPEST_DB:
        return []
    quiet = np.flatnonzero(curve < OFF_DB) + pause.first
    if (
        _bands_risen(spectra, core, pause) < LEAST_BANDS
        or tone_strength(samples, core, quiet) > PITCHED
        or _clings(voiced, rise, first, stop)
        or _bursts(samples, first, stop)
    ):
        return []
    start_s, end_s = max(0.0, first * FRAME_S), stop * FRAME_S
    kind: Literal["inhale", "exhale"] = "exhale" if end_s - start_s > LONGEST_INHALE_S or _follows_voice(voiced, first, stop) else "inhale"
    over = float(10 * np.log10(power[_SEEN].sum() / pause.floor[_SEEN].sum() + 1))
    sure = _sigmoid((float(rise.max()) - CLEAR_DB) / 3) * _sigmoid((fall - LEAST_FALL_DB) / 3 + 1) * (0.8 if kind == "exhale" else 1.0)
    return [Breath(kind, start_s, end_s, over, round(float(np.clip(2 * sure - 0.2, 0.05, 1.0)), 3))]


def _stands_apart(spectra: Spectra, voiced: Bools, first: int, stop: int) -> bool:
    """Longer, within CORE_DB of its loudest moment, than a consonant would be in this place."""
    level = spectra.level_db[first:stop]
    near = round(0.03 / FRAME_S)
    beside = voiced[max(0, first - near) : first].any() or voiced[stop : stop + near].any()
    return int((level > level.max() - CORE_DB).sum()) * FRAME_S >= (SLIGHT_BESIDE_VOICE_S if beside else SLIGHT_S)


def _sigmoid(x: float) -> float:
    return float(1 / (1 + np.exp(-x)))


def _centres() -> Floats:
    edges = np.array(BAND_EDGES_HZ, np.float32)
    return np.asarray((edges[1:] + edges[:-1]) / 2, np.float32)


def _tilt(power: Floats) -> float:
    """dB an octave of a mean spectrum from 300 Hz up, least squares."""
    x, y = np.log2(_centres()[2:]), to_db(power[2:])
    return float(np.polyfit(x, y, 1)[0])


def _fall_db(power: Floats) -> float:
    widths = np.diff(np.array(BAND_EDGES_HZ, np.float32))
    low, high = (float((power[part] * widths[part]).sum() / widths[part].sum()) for part in (slice(3, 8), slice(9, 12)))
    return float(10 * np.log10(max(low, 1e-20) / max(high, 1e-20)))


def _bands_risen(spectra: Spectra, core: npt.NDArray[np.intp], pause: _Pause) -> int:
    return int((to_db(spectra.bands[core].mean(axis=0))[_SEEN] - to_db(pause.floor)[_SEEN] > 3.0).sum())


def _without_hum(piece: Samples, above_hz: float) -> Samples:
    """High-passed without a shift: the gain of a Butterworth filter of order 4 run both ways, 1 / (1 + (cut-off / f) ** 8)."""
    size = len(piece) + _LEAD  # as much silence at the end, so that the end does not ring into the start
    over = (np.fft.rfftfreq(size, 1 / RATE) / above_hz) ** 8
    return np.asarray(np.fft.irfft(np.fft.rfft(piece, size) * (over / (1 + over)), size)[: len(piece)], np.float32)


def _clings(voiced: Bools, rise: Floats, first: int, stop: int) -> bool:
    """True for a tail of the voice before (its loudest part comes first and it falls from there), and for an h that runs into the voice."""
    near = round(0.03 / FRAME_S)
    after_voice = bool(voiced[max(0, first - near) : first].any())
    into_voice = bool(voiced[stop : stop + near].any())
    if after_voice and into_voice and (stop - first) * FRAME_S < WEDGED_S:
        return True
    if after_voice and rise.argmax() < 0.35 * len(rise):
        return True
    return (into_voice or after_voice) and len(rise) * FRAME_S < 0.2


def _bursts(samples: Samples, first: int, stop: int) -> bool:
    """Whether it comes on as the release of a stop does, all at once."""
    if (stop - first) * FRAME_S >= LONGEST_RELEASE_S:
        return False
    begin = max(0, round((first * FRAME_S - RELEASE_MS / 1000) * RATE))
    steep = np.diff(samples[begin : round(stop * FRAME_S * RATE)])  # the voice's hum counts for little, the burst for all
    rows = steep[: len(steep) // _FINE * _FINE].reshape(-1, _FINE)
    level = to_db(running_mean((rows**2).mean(axis=1), 2))
    apart = RELEASE_MS * RATE // 1000 // _FINE
    if len(level) <= apart:
        return False
    # Out of a deep silence anything comes on fast at first: what counts is how soon it is nearly as loud as it gets.
    soon = np.array([level[i : i + _SOON].max() for i in range(apart, len(level))])
    return float((level[apart:] - np.maximum(level[:-apart], soon - RELEASE_DB - 3)).max()) > RELEASE_DB


def _follows_voice(voiced: Bools, first: int, stop: int) -> bool:
    """Breath right after speech, with no speech soon after it: the rest of the air going out."""
    before, after = round(0.2 / FRAME_S), round(0.8 / FRAME_S)
    return bool(voiced[max(0, first - before) : first].any()) and not voiced[stop : stop + after].any()


def _smack(samples: Samples, spectra: Spectra, voiced: Bools, pause: _Pause, rise: Floats, event: Span, by_words: bool) -> list[Breath]:
    """A click: short, in many bands at once, its power in a few milliseconds, and not where a stop is released."""
    part = rise[event.start : event.stop, 4:].mean(axis=1)
    first, stop = pause.first + event.start, pause.first + event.stop
    before, after = (_SMACK_BY_WORDS_S, _SMACK_BY_WORDS_S) if by_words else (_SMACK_AFTER_VOICE_S, _SMACK_BEFORE_VOICE_S)
    near = slice(max(0, first - round(before / FRAME_S)), stop + round(after / FRAME_S))
    if len(event) * FRAME_S > LONGEST_SMACK_S or part.max() < SMACK_DB or voiced[near].any():
        return []
    if by_words and pause.first > 0 and first - pause.first < round(_SMACK_BY_WORDS_S / FRAME_S):
        return []  # the end of an s or the release of a stop, just past where its word was said to end
    if by_words and pause.stop < len(voiced) and pause.stop - stop < round(_SMACK_BEFORE_VOICE_S / FRAME_S):
        return []  # the first consonant of the next word, or a stop that the aligner took for silence
    if not by_words and (pause.stop - pause.first) * FRAME_S < SMACK_PAUSE_S:
        return []
    click = _click(samples, first, stop)
    if click is None:
        return []
    peak = first + int(part.argmax())
    over = float(10 * np.log10(spectra.bands[peak][_SEEN].sum() / pause.floor[_SEEN].sum()))
    return [Breath("smack", click[0], click[1], over, round(float(np.clip((part.max() - SMACK_DB) / 20 + 0.5, 0, 1)), 3))]


def _click(samples: Samples, first: int, stop: int) -> tuple[float, float] | None:
    """Start and end of a click in seconds; None for a fault of the recording (one stray sample) and for longer noise."""
    hop, fine = round(FRAME_S * RATE), RATE // 1000
    at = max(0, (first - 1) * hop)
    piece = np.abs(_without_hum(samples[max(0, at - _LEAD) : (stop + 1) * hop], CLICK_ABOVE_HZ))[at - max(0, at - _LEAD) :]
    if (piece > CLICK_EDGE * piece.max()).sum() < STRAY_SAMPLES:
        return None
    power = (piece[: len(piece) // fine * fine].reshape(-1, fine) ** 2).mean(axis=1)
    power = np.maximum(power - np.median(power), 0)
    over = np.flatnonzero(power > CLICK_EDGE**2 * power.max())
    packed = np.convolve(power, np.ones(CLICK_MS), "same").max() / max(float(power.sum()), 1e-20)
    if packed < CLICK_SHARE or (over[-1] - over[0]) > LONGEST_CLICK_MS:
        return None
    return at / RATE + float(over[0]) * 0.001, at / RATE + float(over[-1] + 1) * 0.001
