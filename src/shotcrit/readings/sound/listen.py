"""What is heard with no lines to lean on: a string of phones. Lines are found in it, and judged against it."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from shotcrit.progress import Progress
from shotcrit.readings.sound.acoustic.features import cepstra, observed, without_mean
from shotcrit.readings.sound.acoustic.loop import FreePath, free_path
from shotcrit.readings.sound.acoustic.model import AcousticModel, load_model
from shotcrit.readings.sound.acoustic.scores import alone_scores
from shotcrit.readings.sound.phoneset import PHONES
from shotcrit.readings.sound.waveform import HOP, RATE, Samples

CHUNK_S = 20.0
"""Longest stretch taken at once, seconds; the mean that is taken off works per stretch (guess)."""
ROW_S = HOP / RATE
_QUIET_WINDOW_S = 2.0
"""A stretch is cut at the quietest 50 ms of its last two seconds (guess)."""
_LEAST_ROWS = 10

Floats = npt.NDArray[np.float32]


@dataclass(frozen=True)
class Heard:
    """A phone that was heard; seconds from the start of the samples."""

    phone: str
    start_s: float
    end_s: float


@dataclass(frozen=True)
class Listened:
    """A sound as the acoustic model sees it; row i is centred on 10 ms * i.

    rows : float32 [shape=(n, 3, 13)] features; free : float32 [shape=(n,)] log likelihood along the best string of phones
    heard : that string, silence and noise left out
    """

    rows: Floats
    free: Floats
    heard: tuple[Heard, ...]


def row_s(row: int) -> float:
    """When a stretch that begins with a row begins: midway between it and the row before; never before the first sample."""
    return max(0.0, (row - 0.5) * ROW_S)


def chunks(samples: Samples, longest_s: float = CHUNK_S) -> list[tuple[int, int]]:
    """Sample ranges that cover everything, none longer than `longest_s`, cut where it is quiet."""
    found: list[tuple[int, int]] = []
    start, longest, window = 0, int(longest_s * RATE), int(_QUIET_WINDOW_S * RATE)
    while len(samples) - start > longest:
        tail = samples[start + longest - window : start + longest]
        blocks = (tail[: len(tail) // (5 * HOP) * 5 * HOP].reshape(-1, 5 * HOP) ** 2).mean(axis=1)
        stop = start + longest - window + int(blocks.argmin()) * 5 * HOP + 5 * HOP // 2
        found.append((start, stop))
        start = stop
    found.append((start, len(samples)))
    return found


def listen(samples: Samples, progress: Progress) -> Listened:
    """Hear phones in a sound. [samples: float32, 16 kHz]; a sound under 0.1 s or of nothing at all has no rows."""
    if len(samples) < _LEAST_ROWS * HOP or not np.any(samples):
        return Listened(np.zeros((0, 3, 13), np.float32), np.zeros(0, np.float32), ())
    model, cepstrum = load_model(), cepstra(samples)
    edges = [a // HOP for a, _ in chunks(samples)] + [len(cepstrum)]
    parts = [(a, b) for a, b in pairwise(edges) if b > a]
    rows = observed(np.concatenate([without_mean(cepstrum[a:b]) for a, b in parts]))
    free, heard = [], list[Heard]()
    for start, stop in parts:
        progress.step("listening for phones", start * ROW_S, len(cepstrum) * ROW_S)
        path = free_path(model, alone_scores(model, rows[start:stop]))
        free.append(path.likelihood)
        heard += _phones(model, path, start)
    return Listened(rows, np.concatenate(free), tuple(heard))


def _phones(model: AcousticModel, path: FreePath, offset: int) -> list[Heard]:
    starts = np.flatnonzero(path.entered)
    stops = [*starts[1:], len(path.phone)]
    named = [(model.names[path.phone[a]], int(a), int(b)) for a, b in zip(starts, stops, strict=True)]
    return [Heard(name, row_s(offset + a), row_s(offset + b)) for name, a, b in named if name in PHONES]
