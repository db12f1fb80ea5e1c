"""Short-time spectra and pitch of a sound: what voicing, breaths, accents and tremor are read from.

Analysis frames come every 10 ms; frame i is centred on i * 10 ms from the first sample, and the sound is silent before its start and after its end.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from shotcrit.readings.sound.waveform import HOP, RATE, Samples

FRAME_S = HOP / RATE
WINDOW = 512
"""Samples in the window of a spectrum: 32 ms, resolution 31.25 Hz."""
PITCH_WINDOW = 640
"""Samples in the window for pitch: 40 ms, three periods of the lowest voice."""
LOWEST_HZ, HIGHEST_HZ = 70.0, 500.0
"""Range of pitch looked for: men about 80, shouting women and children about 500 (from memory; Praat's default is 75 to 600)."""
SILENT_DB = -100.0
"""Full-scale level that stands for digital silence; 16 bits end at -98 dB."""
_BLOCK = 500
"""Frames transformed at once: 5 s, so that memory does not grow with the sound."""
BAND_EDGES_HZ = (0, 150, 300, 500, 800, 1200, 1700, 2300, 3000, 4000, 5200, 6600, 8000)
"""Bands of about equal width on the ear's scale (Traunmüller's Bark formula, two or so Bark each)."""

Floats = npt.NDArray[np.float32]


@dataclass(frozen=True)
class Spectra:
    """One row per analysis frame.

    bands : float32 [shape=(n, 12)] mean power per band, full scale squared
    level_db : float32 [shape=(n,)] level above 150 Hz, dB re full scale
    strength : float32 [shape=(n,)] height of the autocorrelation's best peak, 0 noise .. 1 a pure tone
    pitch_hz : float32 [shape=(n,)] of that peak; meaningful where strength is high
    """

    bands: Floats
    level_db: Floats
    strength: Floats
    pitch_hz: Floats

    def __len__(self) -> int:
        return len(self.level_db)


def measure_spectra(samples: Samples) -> Spectra:
    """Spectra of float32 [shape=(n,)] at 16 kHz; n // 160 + 1 frames, none for an empty sound."""
    if not len(samples):
        empty = np.zeros(0, np.float32)
        return Spectra(np.zeros((0, len(BAND_EDGES_HZ) - 1), np.float32), empty, empty, empty)
    count = len(samples) // HOP + 1
    parts = [_block(samples, start, min(_BLOCK, count - start)) for start in range(0, count, _BLOCK)]
    bands, strength, pitch = (np.concatenate(p).astype(np.float32) for p in zip(*parts, strict=True))
    level = 10 * np.log10(np.maximum(bands[:, 1:] @ _widths()[1:], 10 ** (SILENT_DB / 10)))
    return Spectra(bands, np.asarray(level, np.float32), strength, pitch)


def to_db(power: npt.NDArray[np.floating]) -> Floats:
    """Power to dB, no lower than SILENT_DB."""
    return np.asarray(10 * np.log10(np.maximum(power, 10 ** (SILENT_DB / 10))), np.float32)


def _widths() -> Floats:
    """Bins in each band; bands hold mean power a bin, so sums need these."""
    return np.asarray(np.diff([round(e * WINDOW / RATE) for e in BAND_EDGES_HZ]), np.float32)


def _block(samples: Samples, start: int, count: int) -> tuple[Floats, Floats, Floats]:
    first = start * HOP - PITCH_WINDOW // 2
    stop = first + (count - 1) * HOP + PITCH_WINDOW
    part = np.pad(samples[max(0, first) : stop], (max(0, -first), max(0, stop - len(samples))))
    views = np.lib.stride_tricks.sliding_window_view(part, PITCH_WINDOW)[::HOP]
    strength, pitch = _pitch(views)
    inset = (PITCH_WINDOW - WINDOW) // 2
    return _band_powers(views[:, inset : inset + WINDOW]), strength, pitch


def _band_powers(frames: Floats) -> Floats:
    window = np.hanning(WINDOW).astype(np.float32)
    power = np.abs(np.fft.rfft(frames * window, axis=1)) ** 2 * (2 / (WINDOW * float((window**2).sum())))
    edges = [round(e * WINDOW / RATE) for e in BAND_EDGES_HZ]
    return np.asarray(np.add.reduceat(power[:, : edges[-1]], edges[:-1], axis=1) / np.diff(edges), np.float32)


def _pitch(frames: Floats) -> tuple[Floats, Floats]:
    """Autocorrelation divided by the window's own (Boersma 1993, Proc. Inst. Phonetic Sciences 17:97-110); lags up to 1/LOWEST_HZ."""
    window = np.hanning(PITCH_WINDOW).astype(np.float32)
    size = 2 * PITCH_WINDOW
    shaped = (frames - frames.mean(axis=1, keepdims=True)) * window
    least, most = int(RATE / HIGHEST_HZ), int(RATE / LOWEST_HZ)
    own = np.fft.irfft(np.abs(np.fft.rfft(window, size)) ** 2)[: most + 2]
    auto = np.fft.irfft(np.abs(np.fft.rfft(shaped, size, axis=1)) ** 2, axis=1)[:, : most + 2]
    ratio = auto / np.maximum(auto[:, :1], 1e-12) / (own / own[0])
    inner = ratio[:, least:most]
    peaks = (inner > ratio[:, least - 1 : most - 1]) & (inner >= ratio[:, least + 1 : most + 1])
    cost = 0.02 * np.log2(np.arange(least, most) * LOWEST_HZ / RATE)  # of two alike peaks take the shorter period
    scored = np.where(peaks, inner - cost, -np.inf)
    best = scored.argmax(axis=1)
    found = np.isfinite(scored.max(axis=1))
    rows = np.arange(len(frames))
    height = np.where(found, np.clip(inner[rows, best], 0, 1), 0)
    return np.asarray(height, np.float32), np.asarray(RATE / (_vertex(ratio, rows, best + least)), np.float32)


def _vertex(ratio: npt.NDArray[np.floating], rows: npt.NDArray[np.intp], lag: npt.NDArray[np.intp]) -> npt.NDArray[np.floating]:
    """The lag of the parabola's top through a peak and its neighbours, samples."""
    left, top, right = ratio[rows, lag - 1], ratio[rows, lag], ratio[rows, lag + 1]
    bend = left - 2 * top + right
    shift = np.where(np.abs(bend) > 1e-9, 0.5 * (left - right) / np.where(np.abs(bend) > 1e-9, bend, 1), 0)
    return np.asarray(lag + np.clip(shift, -0.5, 0.5))
