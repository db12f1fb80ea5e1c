"""Voice, noise or silence, with no words needed."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from shotcrit.clock import runs
from shotcrit.readings.events import Voicing
from shotcrit.readings.sound.periodic import tone_strength
from shotcrit.readings.sound.smooth import closed, median_of_3, opened
from shotcrit.readings.sound.spectra import FRAME_S, Spectra, to_db
from shotcrit.readings.sound.waveform import Samples

VOICED_STRENGTH = 0.5
"""Autocorrelation peak from which a frame is voiced (Praat's default threshold is 0.45, Boersma 1993; a little stricter as clicks ring)."""
UNDER_SPEECH_DB = 34.0
"""A voiced frame may lie so far under the loud voice of the sound; below it is hum or a distant sound (guess)."""
OVER_FLOOR_DB = 6.0
"""A frame that is neither voiced nor so far over the noise floor is silence (guess: a doubling of amplitude is heard at once)."""
LOUD_QUANTILE, FLOOR_QUANTILE = 0.95, 0.05
SHORTEST_S = 0.03
"""Voiced and silent stretches under this are bridged; one period of the lowest voice is 14 ms (guess)."""
_FUNDAMENTAL_BANDS, _UPPER_BANDS = slice(1, 4), slice(4, 12)
SURE_STRENGTH = 0.7
"""Median autocorrelation peak of a stretch that needs no second look; noise through the resonances of an h reaches about 0.6 (measured)."""
LEAST_TONE = 0.27
"""Tone strength (periodic.py) of a whole voiced stretch; noise has 0.19 to 0.25, synthetic voices 0.34 to 0.77."""
_NOWHERE = np.zeros(0, np.intp)
HUM_TILT_DB = 45.0
"""Voice has harmonics: power above 800 Hz lies less than so far under that of 150 to 800 Hz; a mains hum's lies further (guess)."""

Bools = npt.NDArray[np.bool_]


def voiced_frames(spectra: Spectra, samples: Samples) -> Bools:
    """bool [shape=(n,)]: frames that carry voice. A steady hum under the speech is not voice, nor is noise through a narrow resonance."""
    if not len(spectra):
        return np.zeros(0, np.bool_)
    strength = median_of_3(spectra.strength)
    loud = float(np.quantile(spectra.level_db, LOUD_QUANTILE))
    low = to_db(spectra.bands[:, _FUNDAMENTAL_BANDS].max(axis=1))
    high = to_db(spectra.bands[:, _UPPER_BANDS].max(axis=1))
    flags = (strength > VOICED_STRENGTH) & (spectra.level_db > loud - UNDER_SPEECH_DB) & (low - high < HUM_TILT_DB)
    size = max(1, round(SHORTEST_S / FRAME_S))
    whole = opened(closed(flags, size), size)
    voiced = np.zeros(len(spectra), np.bool_)
    for span in runs(whole):
        plain = float(np.median(strength[span.start : span.stop]))
        voiced[span.start : span.stop] = (
            plain > SURE_STRENGTH or tone_strength(samples, np.arange(span.start, span.stop), _NOWHERE) > LEAST_TONE
        )
    return voiced


def sounding_frames(spectra: Spectra) -> Bools:
    """bool [shape=(n,)]: frames over the noise floor of the whole sound."""
    if not len(spectra):
        return np.zeros(0, np.bool_)
    floor = float(np.quantile(spectra.level_db, FLOOR_QUANTILE))
    return np.asarray(spectra.level_db > floor + OVER_FLOOR_DB, np.bool_)


def voicing_stretches(spectra: Spectra, samples: Samples) -> tuple[Voicing, ...]:
    """The whole sound cut into voiced, unvoiced and silent stretches. Times in seconds from sample 0."""
    voiced = voiced_frames(spectra, samples)
    noisy = opened(sounding_frames(spectra) & ~voiced, round(SHORTEST_S / FRAME_S) + 1)
    kinds = np.where(voiced, 2, np.where(noisy, 1, 0))
    found: list[Voicing] = []
    for value, name in ((2, "voiced"), (1, "unvoiced"), (0, "silence")):
        for span in runs(kinds == value):
            start = max(0.0, (span.start - 0.5) * FRAME_S)
            found.append(Voicing(name, start, (span.stop - 0.5) * FRAME_S))  # type: ignore[arg-type]
    return tuple(sorted(found, key=lambda v: v.start_s))
