"""Forced alignment: given words and the sound they are in, when each word and each phone starts and ends.

Two passes of pocketsphinx, words first, then phones. Its lattice search (`bestpath`) is switched off: with it the first pass fails on noisy or long
pauses, and the second with 'Failed to stop utterance processing', the more the wider the beams. Should a pass fail all the same, narrower beams are
tried, and at last the word times are kept and their phones spread by Klatt's durations (references.md 2.12, 2.13).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from pocketsphinx import Decoder

from shotcrit.readings.sound.given import Phones
from shotcrit.readings.sound.listen import new_decoder, run
from shotcrit.readings.sound.phoneset import PHONES
from shotcrit.readings.sound.waveform import HOP, RATE, Samples, to_pcm16

_BEAMS: tuple[dict[str, float], ...] = (
    {"beam": 1e-200, "pbeam": 1e-200, "wbeam": 1e-150},
    {"beam": 1e-80, "pbeam": 1e-80, "wbeam": 1e-60},
    {},
)
"""Search widths, tried in turn: nearly unbounded, wide, the library's default. Where a voice says a name otherwise than we guess, the narrow ones
put the words around it wrongly by half a second and the widest does not."""
AGREE_S = 0.1
"""A narrower search's phones count only when it puts every word within so much of where the widest put it (guess: two frames)."""
LEAST_SOUND_S = 0.1
"""Seconds; nothing shorter can be aligned (three states a phone, 10 ms each, and the model's own edges)."""
_HOP_S = HOP / RATE


@dataclass(frozen=True)
class Timed:
    """One word in time. `way`: which of its pronunciations fits; phones: (phone without digit, start_s, end_s), from the samples' start.

    spread : True where the phones' times are a rule's and were not found in the sound
    """

    way: int
    start_s: float
    end_s: float
    phones: tuple[tuple[str, float, float], ...]
    spread: bool = False


def align_words(samples: Samples, words: Sequence[Sequence[Phones]]) -> tuple[Timed, ...] | None:
    """Times of every word, each given by its pronunciations, or None when the words cannot be fitted into the sound at all.

    samples : float32 [shape=(n,)], 16 kHz
    """
    if len(samples) < LEAST_SOUND_S * RATE or not words:
        return None
    pcm = to_pcm16(samples)
    by_words: tuple[Timed, ...] | None = None
    for beams in _BEAMS:
        decoder = new_decoder(bestpath=False, **beams)
        timed = _word_pass(decoder, pcm, words)
        if timed is None or not _agree(timed, by_words):
            continue
        by_words = by_words or timed
        phones = _phone_pass(decoder, pcm, words)
        if phones is not None:
            return phones
    return by_words


def _agree(one: Sequence[Timed], two: Sequence[Timed] | None) -> bool:
    return two is None or all(abs(a.start_s - b.start_s) <= AGREE_S for a, b in zip(one, two, strict=True))


def _teach(decoder: Decoder, words: Sequence[Sequence[Phones]]) -> str:
    """Add every word under a name of its own (w0, w0(2), w1 ...); returns the text to align."""
    for index, ways in enumerate(words):
        for number, way in enumerate(ways):
            name = f"w{index}" if number == 0 else f"w{index}({number + 1})"
            decoder.add_word(name, " ".join(p.rstrip("012") for p in way), False)
    return " ".join(f"w{i}" for i in range(len(words)))


def _which(name: str) -> tuple[int, int] | None:
    """'w3(2)' -> word 3, way 1; None for silence and noise."""
    head, _, way = name.partition("(")
    if not (head.startswith("w") and head[1:].isdigit()):
        return None
    return int(head[1:]), int(way.rstrip(")")) - 1 if way else 0


def _word_pass(decoder: Decoder, pcm: bytes, words: Sequence[Sequence[Phones]]) -> tuple[Timed, ...] | None:
    try:
        decoder.set_align_text(_teach(decoder, words))
        run(decoder, pcm)
        segments = list(decoder.seg() or ())
    except RuntimeError:
        return None
    timed: list[Timed] = []
    for segment in segments:
        found = _which(segment.word)
        if found is not None:
            start, end = segment.start_frame * _HOP_S, (segment.end_frame + 1) * _HOP_S
            timed.append(Timed(found[1], start, end, spread_phones(words[found[0]][found[1]], start, end), spread=True))
    return tuple(timed) if len(timed) == len(words) else None


def _phone_pass(decoder: Decoder, pcm: bytes, words: Sequence[Sequence[Phones]]) -> tuple[Timed, ...] | None:
    try:
        decoder.set_alignment()
        run(decoder, pcm)
        alignment = decoder.get_alignment()
    except RuntimeError:
        return None
    if alignment is None:
        return None
    timed: list[Timed] = []
    for word in alignment:
        found = _which(word.name)
        if found is None:
            continue
        phones = tuple((p.name, p.start * _HOP_S, (p.start + p.duration) * _HOP_S) for p in word)
        if len(phones) != len(words[found[0]][found[1]]):
            return None
        timed.append(Timed(found[1], phones[0][1], phones[-1][2], phones))
    return tuple(timed) if len(timed) == len(words) else None


def spread_phones(way: Phones, start_s: float, end_s: float) -> tuple[tuple[str, float, float], ...]:
    """Phones laid over a word's time by D = K (inherent - least) + least, with the one K that fills it (Klatt 1976, eq. 1).

    Where even the least durations do not fit, they shrink alike.
    """
    kinds = [PHONES[p.rstrip("012")] for p in way]
    least, room = sum(k.least_ms for k in kinds), sum(k.inherent_ms - k.least_ms for k in kinds)
    spare = (end_s - start_s) * 1000 - least
    shares = [k.least_ms + (spare * (k.inherent_ms - k.least_ms) / room if spare > 0 and room else 0.0) for k in kinds]
    scale = (end_s - start_s) / sum(shares)
    found, at = [], start_s
    for symbol, share in zip(way, shares, strict=True):
        found.append((symbol.rstrip("012"), at, at + share * scale))
        at += share * scale
    return tuple(found)
