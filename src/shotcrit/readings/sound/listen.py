"""What the recogniser hears with no lines to lean on: a string of phones. Lines are found in it, and judged against it."""

from __future__ import annotations

import os
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from pocketsphinx import Decoder

from shotcrit.progress import Progress
from shotcrit.readings.sound.phoneset import PHONES
from shotcrit.readings.sound.waveform import HOP, RATE, Samples, to_pcm16

CHUNK_S = 20.0
"""Longest stretch decoded at once, seconds; the recogniser's mean normalisation works per stretch (guess)."""
_QUIET_WINDOW_S = 2.0
"""A stretch is cut at the quietest 50 ms of its last two seconds (guess)."""


@dataclass(frozen=True)
class Heard:
    """A phone that was heard; seconds from the start of the samples."""

    phone: str
    start_s: float
    end_s: float


def new_decoder(**settings: object) -> Decoder:
    """The wheel's US-English acoustic model with an empty dictionary and no language model; says nothing on the console."""
    return Decoder(lm=None, dict=os.devnull, loglevel="FATAL", **settings)


def run(decoder: Decoder, pcm: bytes) -> None:
    """Decode one whole stretch. Raises RuntimeError when the search finds no path to its end."""
    decoder.start_utt()
    try:
        decoder.process_raw(pcm, full_utt=True)
    finally:
        decoder.end_utt()


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


def hear_phones(samples: Samples, progress: Progress) -> tuple[Heard, ...]:
    """The phones that a free loop over all phones hears; silence and noise left out. [samples: float32, 16 kHz]"""
    if len(samples) < 10 * HOP or not np.any(samples):
        return ()
    decoder = new_decoder(allphone_ci=True)
    decoder.add_allphone_file("free", None)
    decoder.activate_search("free")
    found: list[Heard] = []
    for start, stop in chunks(samples):
        progress.step("listening for phones", start / RATE, len(samples) / RATE)
        found += _hear(decoder, samples[start:stop], start / RATE)
    return tuple(found)


def _hear(decoder: Decoder, samples: Samples, offset_s: float) -> Sequence[Heard]:
    if len(samples) < 10 * HOP or not np.any(samples):
        return ()
    try:
        run(decoder, to_pcm16(samples))
    except RuntimeError:
        return ()  # no path at all: nothing that could be speech
    hop_s = HOP / RATE
    return [
        Heard(s.word, offset_s + s.start_frame * hop_s, offset_s + (s.end_frame + 1) * hop_s)
        for s in decoder.seg() or ()
        if s.word in PHONES
    ]
