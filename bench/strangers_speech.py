"""How right the sound readings are on speech that nobody here made: words, phones, lines, wrong words, breaths, against hand labels."""

from __future__ import annotations

import random
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
from tests.make.noises import room_tone
from tests.make.voices import speech_level
from tests.reference.test_phones import matched

from bench.strangers_takes import RATE, Take, Timed, takes
from shotcrit.readings.sound.align import align_lines
from shotcrit.readings.sound.breaths import find_breaths
from shotcrit.readings.sound.lines_file import parse_lines
from shotcrit.readings.sound.spoken import Spoken

FRAME_S = 1 / 24
PAUSE_S = 0.1
"""Silence before a word, s, from which it starts after a pause."""
NOISES_DB = (16.0, 20.0, 35.0, 40.0)
"""Of the speech over the room tone that is laid under it."""
SHORT_WORDS = 4
"""Letters; a word of at least so many is swapped for another to see whether that is told."""


@dataclass(frozen=True)
class Aligned:
    take: Take
    spoken: Spoken


def aligned(take: Take, text: str | None = None) -> Aligned:
    return Aligned(take, align_lines(take.samples, parse_lines(text or take.text)))


def word_errors(found: Iterable[Aligned], kind: str) -> list[float]:
    """Own start less the labelled one, s; kind: 'all', 'first' of the file, 'paused' after an inner pause, 'running'."""
    errors = []
    for one in found:
        if not one.spoken.lines[0].heard or len(one.spoken.words) != len(one.take.words):
            continue
        before = None
        for own, (_, start, end) in zip(one.spoken.words, one.take.words, strict=True):
            here = "first" if before is None else "paused" if start - before > PAUSE_S else "running"
            before = end
            if kind in ("all", here):
                errors.append(own.start_s - start)
    return errors


def phone_errors(found: Iterable[Aligned]) -> list[float]:
    """Own phone's start less the labelled one's, s; a labelled phone that nothing answers counts as a second off."""
    errors: list[float] = []
    for one in found:
        if one.take.phones and one.spoken.lines[0].heard:
            own: list[Timed] = [(p.phone, p.start_s, p.end_s) for p in one.spoken.phones]
            errors += [b[1] - a[1] for a, b in matched(one.take.phones, own)]
    return errors


def swapped(source: Sequence[Take], seed: int) -> list[tuple[Take, str, str]]:
    """Each labelled take with one of its longer words exchanged for one of another take, with the word put in."""
    rng = random.Random(seed)
    rows = [t for t in source if t.words]
    pool = sorted({w for t in rows for w, _, _ in t.words if len(w) > SHORT_WORDS})
    found = []
    for take in rows:
        words = [w for w, _, _ in take.words]
        long = [i for i, w in enumerate(words) if len(w) >= SHORT_WORDS]
        if long:
            at = rng.choice(long)
            new = rng.choice([w for w in pool if w not in words])
            found.append((take, " ".join([*words[:at], new, *words[at + 1 :]]), new))
    return found


def told(spoken: Spoken, word: str | None) -> bool:
    """Whether the line is said not to be what was spoken, or that word of it (any, where None) to be doubtful."""
    line = spoken.lines[0]
    return not line.heard or (line.problem is not None and (word is None or word in line.problem))


def in_words(take: Take, breaths: Sequence[tuple[float, float]]) -> int:
    """Breaths most of which lies inside labelled words."""
    count = 0
    for start, end in breaths:
        inside = sum(max(0.0, min(end, b) - max(start, a)) for _, a, b in take.words)
        count += inside > 0.5 * (end - start)
    return count


def noisy(take: Take, over_db: float) -> Take:
    rng = np.random.default_rng(len(take.samples))
    return replace(take, samples=take.samples + room_tone(rng, len(take.samples), speech_level(take.samples) - over_db))


def breath_row(found: Sequence[Aligned]) -> tuple[int, int, float]:
    """Breaths and smacks told, those inside labelled words, minutes of sound; words as the aligner gave them."""
    all_told, inside, seconds = 0, 0, 0.0
    for one in found:
        own = [(b.start_s, b.end_s) for b in find_breaths(one.take.samples, one.spoken.words)]
        all_told, inside, seconds = all_told + len(own), inside + in_words(one.take, own), seconds + len(one.take.samples) / RATE
    return all_told, inside, seconds / 60


def recall(source: Sequence[Take]) -> tuple[int, int]:
    """Labelled breaths that were found, and how many there are."""
    hit = total = 0
    for take in source:
        own = find_breaths(take.samples)
        total += len(take.breaths)
        hit += sum(any(b.start_s < end and b.end_s > start for b in own) for start, end in take.breaths)
    return hit, total


def share(values: Sequence[float], within: float) -> str:
    return f"{100 * float(np.mean(np.abs(values) <= within)):.1f} %" if len(values) else "none"


def mean_ms(values: Sequence[float], of: Callable[[np.ndarray], np.ndarray] = np.abs) -> str:
    return f"{1000 * float(np.mean(of(np.array(values)))):.1f} ms" if len(values) else "none"


def report(folder: Path, chosen: Callable[[Take], bool] = lambda take: True) -> str:
    """The rows of sound as a Markdown table, of the takes that are chosen; '' where no speech lies in the folder."""
    source = [t for t in takes(folder) if chosen(t)]
    if not source:
        return ""
    clean = [aligned(t) for t in source if t.kind == "clean"]
    extreme = [aligned(t) for t in source if t.kind == "extreme"]
    rows = [*_timing_rows(clean), *_line_rows(clean, extreme), *_swap_rows(source), *_breath_rows(source, clean)]
    return "\n".join(["## Speech", "", "| what | measured |", "| --- | --- |", *(f"| {what} | {value} |" for what, value in rows)])


def _timing_rows(clean: Sequence[Aligned]) -> list[tuple[str, str]]:
    rows = []
    for kind, name in (
        ("all", "word starts"),
        ("first", "the first word of a file"),
        ("paused", "words after an inner pause"),
        ("running", "running words"),
    ):
        errors = word_errors(clean, kind)
        rows.append(
            (
                f"{name}, {len(errors)}: within a frame, mean error, mean early (-) or late",
                f"{share(errors, FRAME_S)}, {mean_ms(errors)}, {mean_ms(errors, np.array)}",
            )
        )
    errors = phone_errors(clean)
    rows.append(
        (
            f"phone starts, {len(errors)}: within 20 ms, a frame, mean error, bias",
            f"{share(errors, 0.02)}, {share(errors, FRAME_S)}, {mean_ms(errors)}, {mean_ms(errors, np.array)}",
        )
    )
    return rows


def _line_rows(clean: Sequence[Aligned], extreme: Sequence[Aligned]) -> list[tuple[str, str]]:
    rows = []
    for name, found in (("clean read", clean), ("extreme", extreme)):
        lost = [a.take.name for a in found if not a.spoken.lines[0].heard]
        doubted = [a.take.name for a in found if a.spoken.lines[0].heard and a.spoken.lines[0].problem]
        rows.append((f"{name} lines heard", f"{len(found) - len(lost)} of {len(found)}; doubted in part {len(doubted)}"))
    return rows


def _swap_rows(source: Sequence[Take]) -> list[tuple[str, str]]:
    pairs = [(aligned(take, text).spoken, word) for take, text, word in swapped([t for t in source if t.kind == "clean"], 9)]
    lost = sum(not s.lines[0].heard for s, _ in pairs)
    named = sum(s.lines[0].heard and told(s, word) for s, word in pairs)
    return [("single wrong words told", f"{lost + named} of {len(pairs)}; {named} by the word, {lost} as a line that was not said")]


def _breath_rows(source: Sequence[Take], clean: Sequence[Aligned]) -> list[tuple[str, str]]:
    bare = [Aligned(a.take, Spoken()) for a in clean]
    kinds = [("lines given", clean), ("no lines", bare)]
    for over in NOISES_DB:
        kinds.append((f"no lines, {over:g} dB over room tone", [Aligned(noisy(a.take, over), Spoken()) for a in bare]))
    rows = []
    for name, found in kinds:
        all_told, inside, minutes = breath_row(found)
        rows.append((f"breaths and smacks, {name}: told, inside labelled words", f"{all_told}, {inside} in {minutes:.1f} min"))
    hit, total = recall(source)
    return [*rows, ("labelled breaths found", f"{hit} of {total}")]
