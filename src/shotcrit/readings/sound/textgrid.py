"""TextGrid tiers in and out, by praatio: words, phones, breaths. A TextGrid given in place of lines replaces our aligner.

Tiers are found by name: 'words', 'phones', 'breaths', or 'Ada - words' where each speaker has tiers of their own. Phones may be written in
the CMU set, with or without stress digits, or in IPA, whose symbols are taken to the nearest of the 39.
"""

from __future__ import annotations

import re
import unicodedata
from bisect import bisect_right
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any, Literal, cast

from praatio import textgrid as praat
from praatio.utilities import textgrid_io

from shotcrit.errors import InputError
from shotcrit.plain_file import read_plain
from shotcrit.readings.bundle import SoundReadings
from shotcrit.readings.events import Breath, Line, Phone, Word
from shotcrit.readings.sound.phoneset import split_stress
from shotcrit.readings.sound.spoken import Spoken

BIGGEST_FILE = 32 * 2**20
"""Bytes; an hour with phones is about 5 MB (guess)."""
MOST_ROWS = 400_000
"""Rows of a TextGrid's text; an interval takes three or four (guess: an hour of speech has 50,000 words, phones and pauses)."""
LONGEST_S = 24 * 3600.0
_SILENT = {"", "sil", "sp", "spn", "pau", "<eps>", "<p:>", "#", "h#", "ssil", "<sil>"}
"""Labels that stand for no phone, as aligners write them."""
_BREATHS = {"inhale", "exhale", "smack"}
_HEAD = re.compile(r'\s*(File type\s*=\s*)?"?ooTextFile')
"""How a TextGrid's text begins, in its long and short form (Praat manual, 'TextGrid file formats')."""
_IPA_TABLE = """
AA ɑ a; AE æ; AH ʌ ə ɐ; AO ɔ ɒ; AW aʊ aw; AY aɪ aj; EH ɛ e; ER ɜ ɝ ɚ ø œ; EY eɪ ej; IH ɪ ɨ; IY i y; OW o oʊ əʊ əw ow; OY ɔɪ ɔj
UH ʊ ɵ; UW u ʉ; B b; CH tʃ tɕ; D d ɾ; DH ð; F f ɸ; G ɡ g ɟ ɣ; HH h ɦ x χ ç; JH dʒ dʑ; K k q c; L l ɫ ʎ; M m ɱ; N n ɲ; NG ŋ
P p; R r ɹ ʁ ʀ; S s; SH ʃ ʂ ɕ; T t ʔ ts; TH θ; V v ʋ β; W w ɥ ʍ; Y j; Z z dz; ZH ʒ ʐ ʑ
"""
"""IPA to the nearest of the 39 (IPA Handbook 1999, from memory); sounds that English lacks go to what looks alike on the mouth."""
_IPA = {ipa: row.split()[0] for row in _IPA_TABLE.replace("\n", ";").split(";") for ipa in row.split()[1:]}


@dataclass(frozen=True)
class Track:
    """What a TextGrid says. Seconds from the start of the sound."""

    spoken: Spoken
    breaths: tuple[Breath, ...] = ()


@dataclass(frozen=True)
class _Interval:
    start_s: float
    end_s: float
    label: str


def is_textgrid(text: str) -> bool:
    """Whether a text says of itself that it is a TextGrid."""
    return _HEAD.match(text.removeprefix("\ufeff")) is not None


def read_textgrid(path: Path) -> Track:
    """Words, phones and breaths of a TextGrid. Raises InputError, one sentence, for anything that holds none."""
    return parse_textgrid(textgrid_text(path), name=str(path))


def textgrid_text(path: Path) -> str:
    """The text of a TextGrid file. Raises InputError, one sentence, for what cannot be read."""
    over = "which no TextGrid needs; give one with words and phones only"
    data = read_plain(path, most=BIGGEST_FILE, over=over, give="a TextGrid that exists")
    return _decoded(data, str(path))


def _decoded(data: bytes, name: str) -> str:
    """TextGrids are UTF-16 with a mark, or UTF-8."""
    try:
        return data.decode("utf-16" if data[:2] in (b"\xff\xfe", b"\xfe\xff") else "utf-8-sig")
    except UnicodeDecodeError as problem:
        raise InputError(_unreadable(name)) from problem


def _unreadable(name: str) -> str:
    return f"{name} is not a TextGrid that can be read; save it from your aligner again as a TextGrid"


def parse_textgrid(text: str, *, name: str = "the TextGrid") -> Track:
    """Words, phones and breaths of a TextGrid's text. `name` says in errors where it came from. Raises InputError, one sentence."""
    if (rows := text.count("\n")) > MOST_ROWS:
        raise InputError(f"{name} has {rows:,} rows, and {MOST_ROWS:,} are the most that are read; give the tiers of this shot")
    try:
        found = textgrid_io.parseTextgridStr(text.removeprefix("\ufeff"), includeEmptyIntervals=False)
        grids = [(str(t["name"]), _tier(t)) for t in found["tiers"]]
    except Exception as problem:  # the parser raises whatever it trips over: index, value, key and its own errors
        raise InputError(_unreadable(name)) from problem
    tiers = [(*_owner(title), _intervals(tier, name)) for title, tier in grids]
    words = _words(tiers)
    if not words:
        raise InputError(f"{name} has no tier of words; name one 'words', or 'Ada - words' for each speaker")
    phones = _phones(tiers, words, name)
    return Track(Spoken(_lines(words), tuple(words), tuple(phones)), tuple(_breaths(tiers)))


def _tier(found: Mapping[str, Any]) -> praat.IntervalTier | None:
    """A tier of intervals, checked by praatio for order and overlap; None for a tier of points."""
    if found["class"] != textgrid_io.INTERVAL_TIER:
        return None
    return praat.IntervalTier(str(found["name"]), found["entries"], found["xmin"], found["xmax"])


def _owner(name: str) -> tuple[str | None, str]:
    """'Ada - words' -> ('Ada', 'words'); 'Phones' -> (None, 'phones')."""
    who, dash, kind = name.rpartition(" - ")
    return (who.strip() or None) if dash else None, kind.strip().lower()


def _intervals(tier: object, name: str) -> list[_Interval]:
    if not isinstance(tier, praat.IntervalTier):
        return []
    found = [_Interval(float(e.start), float(e.end), unicodedata.normalize("NFC", e.label).strip()) for e in tier.entries]
    for interval in found:
        if not 0 <= interval.start_s < interval.end_s <= LONGEST_S:
            raise InputError(f"{name} has an interval from {interval.start_s:g} to {interval.end_s:g} s, which cannot be; mend it")
    return found


Tiers = Sequence[tuple[str | None, str, list[_Interval]]]


def _words(tiers: Tiers) -> list[Word]:
    speakers = list(dict.fromkeys(who for who, kind, _ in tiers if kind in ("words", "word")))
    found = [
        Word(i.label, who, i.start_s, i.end_s, 1.0, speakers.index(who))
        for who, kind, intervals in tiers
        if kind in ("words", "word")
        for i in intervals
        if i.label.lower() not in _SILENT
    ]
    return sorted(found, key=lambda w: (w.start_s, w.line))


def _lines(words: Sequence[Word]) -> tuple[Line, ...]:
    """One line a speaker: a TextGrid does not say where speeches end."""
    found: list[Line] = []
    by_line: dict[int, list[Word]] = {number: [] for number in range(max(w.line for w in words) + 1)}
    for word in words:
        by_line[word.line].append(word)
    for own in by_line.values():
        text = " ".join(w.text for w in own)
        found.append(Line(text, own[0].who if own else None, True, 1.0, own[0].start_s if own else None, own[-1].end_s if own else None))
    return tuple(found)


def _phones(tiers: Tiers, words: Sequence[Word], name: str) -> list[Phone]:
    found: list[Phone] = []
    for who, kind, intervals in tiers:
        if kind in ("phones", "phone", "phonemes"):
            own = [(i, w) for i, w in enumerate(words) if w.who == who]
            starts = [w.start_s for _, w in own]
            for interval in intervals:
                if interval.label.lower() not in _SILENT:
                    phone, stress = to_phone(interval.label, name)
                    found.append(Phone(phone, stress, _word_at(interval, own, starts), interval.start_s, interval.end_s))
    return sorted(found, key=lambda p: p.start_s)


def _word_at(interval: _Interval, words: Sequence[tuple[int, Word]], starts: Sequence[float]) -> int | None:
    """The word round the middle of an interval; `words` of one speaker, in the order of their `starts`, none over another."""
    middle = (interval.start_s + interval.end_s) / 2
    at = bisect_right(starts, middle) - 1
    return words[at][0] if at >= 0 and middle < words[at][1].end_s else None


def to_phone(label: str, name: str) -> tuple[str, int | None]:
    """A label as one of the 39 phones with its stress digit. Raises InputError for a label that is neither CMU nor IPA."""
    try:
        return split_stress(label.upper())
    except KeyError:
        pass
    bare = "".join(c for c in unicodedata.normalize("NFD", label) if unicodedata.category(c) not in ("Mn", "Lm", "Sk") and c not in "ːˑ͡")
    for spelling in (bare, bare[:2], bare[:1]):
        if spelling in _IPA:
            return _IPA[spelling], None
    raise InputError(f"{name}: '{label[:20]}' is no phone of the CMU set or the IPA; rename it, or leave the phones tier out")


def _breaths(tiers: Tiers) -> list[Breath]:
    found: list[Breath] = []
    for who, kind, intervals in tiers:
        if kind in ("breaths", "breath"):
            for i in intervals:
                label = i.label.lower()
                if label in _BREATHS:
                    found.append(Breath(cast(Literal["inhale", "exhale", "smack"], label), i.start_s, i.end_s, 0.0, 1.0, who))
    return sorted(found, key=lambda b: b.start_s)


Rows = Sequence[tuple[float, float, str]]
"""Start, end (seconds from the first picture) and label of intervals that do not overlap."""


def write_textgrid(
    path: Path, sound: SoundReadings, duration_s: float, *, offset_s: float = 0.0, more: Mapping[str, Rows] | None = None
) -> None:
    """Write words, phones and breaths as a TextGrid, long format, UTF-8; one set of tiers a speaker.

    duration_s : of the sound; offset_s : the sound's own offset, so that times in the file count from its first sample; more : further tiers by name
    What lies outside the sound is cut off.
    """
    grid = praat.Textgrid(0.0, duration_s)
    for who in list(dict.fromkeys(w.who for w in sound.words)) or [None]:
        title = f"{who} - " if who else ""
        own = {i for i, w in enumerate(sound.words) if w.who == who}
        words = [(w.start_s, w.end_s, w.text) for i, w in enumerate(sound.words) if i in own]
        phones = [(p.start_s, p.end_s, p.phone + ("" if p.stress is None else str(p.stress))) for p in sound.phones if p.word in own]
        for kind, rows in (("words", words), ("phones", phones)):
            _add_tier(grid, title + kind, rows, duration_s, offset_s)
    for name, intervals in {"breaths": [(b.start_s, b.end_s, b.kind) for b in sound.breaths], **(more or {})}.items():
        _add_tier(grid, name, intervals, duration_s, offset_s)
    grid.save(str(path), format="long_textgrid", includeBlankSpaces=True, reportingMode="silence")


def textgrid_of(sound: SoundReadings, duration_s: float, *, offset_s: float = 0.0, more: Mapping[str, Rows] | None = None) -> str:
    """The same as text. praatio writes to files alone, so it goes through one."""
    with TemporaryDirectory() as folder:
        path = Path(folder) / "track.TextGrid"
        write_textgrid(path, sound, duration_s, offset_s=offset_s, more=more)
        return path.read_text(encoding="utf-8")


def _add_tier(grid: praat.Textgrid, name: str, rows: Iterable[tuple[float, float, str]], duration_s: float, offset_s: float) -> None:
    """Add one tier; intervals are cut to the sound and to the one before them, as TextGrids allow no overlap."""
    entries: list[tuple[float, float, str]] = []
    last = 0.0
    for start, end, label in sorted(rows):
        start, end = max(last, start - offset_s), min(duration_s, end - offset_s)
        if end - start > 1e-6:
            entries.append((start, end, label))
            last = end
    grid.addTier(praat.IntervalTier(name, entries, 0.0, duration_s), reportingMode="silence")
