"""Speech that nobody here made, with the labels that somebody else's hand gave it, as one kind of take.

A folder of strangers' material holds any of: timit/ (folders drN-speaker with .wav, .wrd, .phn), emu/ (wavFiles, annotationFiles with EMU's .lab and .hlb),
praatio/ and promo/ (.wav beside .TextGrid), mfa/ (wav/, and conftest.py, which has the takes' texts), resp/ (samples/, labels in README.md).
"""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from fractions import Fraction
from pathlib import Path

import numpy as np
import numpy.typing as npt
from praatio import textgrid as praat

from shotcrit.media.resampling import Resampler
from shotcrit.media.sound import open_sound
from shotcrit.readings.sound.waveform import RATE, levelled

Samples = npt.NDArray[np.float32]
Timed = tuple[str, float, float]

TIMIT_SILENT = {"h#", "pau", "epi", "q"}
TIMIT_CLOSURE = {"bcl": "B", "dcl": "D", "gcl": "G", "pcl": "P", "tcl": "T", "kcl": "K"}
TIMIT_AS = {
    "ax": "AH",
    "ax-h": "AH",
    "axr": "ER",
    "ix": "IH",
    "ux": "UW",
    "el": "L",
    "em": "M",
    "en": "N",
    "eng": "NG",
    "nx": "N",
    "dx": "T",
    "hv": "HH",
}


@dataclass(frozen=True)
class Take:
    """samples : float32 [shape=(n,)] at 16 kHz, levelled as readings are. kind: 'clean' (read, whole, labelled or with its text) or 'extreme'.

    words, phones : hand labels, s from the first sample; phones in the 39 of the CMU dictionary. breaths: (start_s, end_s)
    """

    corpus: str
    name: str
    kind: str
    text: str
    samples: Samples
    words: tuple[Timed, ...] = ()
    phones: tuple[Timed, ...] = ()
    breaths: tuple[tuple[float, float], ...] = field(default=())


def takes(folder: Path) -> list[Take]:
    """Everything that lies there, in a fixed order; kinds that are absent are left out."""
    return [
        *_timit(folder / "timit"),
        *_emu(folder / "emu"),
        *_grids(folder / "praatio"),
        *_grids(folder / "promo"),
        *_mfa(folder / "mfa"),
        *_resp(folder / "resp"),
    ]


def samples_of(file: Path) -> Samples:
    """A sound file as the readings take it in: one channel, 16 kHz, levelled."""
    source = open_sound(file)
    assert source is not None, file
    mixed = source.mixed(Fraction(0))
    down = Resampler(mixed.rate, RATE)
    for block in mixed.blocks():
        down.add(block)
    return levelled(down.done())


def _timit(folder: Path) -> Iterator[Take]:
    for file in sorted(folder.glob("dr*/*.wav")):
        words = tuple((w, int(a) / RATE, int(b) / RATE) for a, b, w in map(str.split, file.with_suffix(".wrd").read_text().splitlines()))
        rows = [(p, int(a) / RATE, int(b) / RATE) for a, b, p in map(str.split, file.with_suffix(".phn").read_text().splitlines())]
        yield Take(
            "timit",
            f"{file.parent.name}/{file.stem}",
            "clean",
            " ".join(w for w, _, _ in words),
            samples_of(file),
            words,
            timit_phones(rows),
        )


def timit_phones(rows: list[Timed]) -> tuple[Timed, ...]:
    """Closure and release are one stop, as in the dictionary; pauses and glottal stops are left out (phoncode.doc of the corpus)."""
    found: list[Timed] = []
    for name, start, end in rows:
        if name in TIMIT_SILENT:
            continue
        named = TIMIT_CLOSURE.get(name) or TIMIT_AS.get(name, name.upper())
        held = (
            found
            and found[-1][2] == start
            and name not in TIMIT_CLOSURE
            and found[-1][0] == f"{named if named not in ('CH', 'JH') else {'CH': 'T', 'JH': 'D'}[named]}|"
        )
        if held:
            found[-1] = (named, found[-1][1], end)
        else:
            found.append((f"{named}|" if name in TIMIT_CLOSURE else named, start, end))
    return tuple((name.rstrip("|"), start, end) for name, start, end in found)


def _emu(folder: Path) -> Iterator[Take]:
    for file in sorted((folder / "wavFiles").glob("*.wav")):
        grid = folder / "annotationFiles" / f"{file.stem}.TextGrid"
        words = tuple((text, a, b) for a, b, text in _tiers(grid).get("Text", ()) if text)
        if words:
            yield Take("emu", file.stem, "clean", " ".join(w for w, _, _ in words), samples_of(file), words)


def _tiers(grid: Path | None) -> dict[str, list[tuple[float, float, str]]]:
    """Rows (start_s, end_s, label) of every tier of intervals, by its name."""
    if grid is None or not grid.exists():
        return {}
    found = praat.openTextgrid(str(grid), includeEmptyIntervals=False, reportingMode="silence")
    return {t.name: [(e.start, e.end, e.label) for e in t.entries] for t in found.tiers if isinstance(t, praat.IntervalTier)}


def _grids(folder: Path) -> Iterator[Take]:
    for file in sorted(folder.glob("*.wav")):
        grid = next((g for g in (file.with_suffix(".TextGrid"), folder / f"{file.stem}_words.TextGrid") if g.exists()), None)
        tiers = _tiers(grid)
        rows = next((tiers[name] for name in ("word", "words") if name in tiers), ())
        words = tuple((text.lower(), a, b) for a, b, text in rows if text.strip())
        if words:
            yield Take(folder.name, file.stem, "clean", " ".join(w for w, _, _ in words), samples_of(file), words)


def _mfa(folder: Path) -> Iterator[Take]:
    if not (folder / "conftest.py").exists():
        return
    tables = [n for n in ast.walk(ast.parse((folder / "conftest.py").read_text(encoding="utf-8"))) if isinstance(n, ast.Dict)]
    texts: dict[str, str] = max((_plain(t) for t in tables), key=len)
    for name, text in texts.items():
        file = folder / "wav" / f"{name}.flac"
        if file.exists() and not re.search(r"[<\[]", text):
            yield Take("mfa", name, "extreme", text, samples_of(file))


def _plain(table: ast.Dict) -> dict[str, str]:
    try:
        found = ast.literal_eval(table)
    except ValueError:
        return {}
    return found if all(isinstance(k, str) and isinstance(v, str) for k, v in found.items()) else {}


def _resp(folder: Path) -> Iterator[Take]:
    """Only the first sample's breaths are labelled, in the README: Interval(start, end)."""
    readme = folder / "README.md"
    if not readme.exists():
        return
    found = re.search(r"IntervalTree\(\[(.*)\]\)", readme.read_text(encoding="utf-8"))
    labels = tuple((float(a), float(b)) for a, b in re.findall(r"Interval\(([\d.]+), ([\d.]+)\)", found[1] if found else ""))
    for number, file in enumerate(sorted((folder / "samples").glob("*.wav"))):
        yield Take("resp", file.stem, "breaths", "", samples_of(file), breaths=labels if number == 0 else ())
