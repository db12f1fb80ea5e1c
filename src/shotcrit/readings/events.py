"""Things that happen at a time. Times are seconds from the first picture (float64 is exact enough here: a sample is 20 us)."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Why = Literal["otherwise", "unclear", "silent", "unsayable"]


@dataclass(frozen=True)
class Word:
    """A spoken word. confidence 0..1; `line` is the index of the given line that it belongs to."""

    text: str
    who: str | None
    start_s: float
    end_s: float
    confidence: float = 1.0
    line: int = 0


@dataclass(frozen=True)
class Phone:
    """A phone in the 39-symbol set of the CMU Pronouncing Dictionary; `word` indexes the words; stress for vowels only."""

    phone: str
    stress: int | None
    word: int | None
    start_s: float
    end_s: float


@dataclass(frozen=True)
class Line:
    """A line as given, and whether it was found; `problem` says in a clause for people what is wrong with it.

    why : what kind of thing is wrong: 'otherwise' something else was said, in all or part of it; 'unclear' it cannot be heard in this sound;
        'silent' nobody speaks where it should be; 'unsayable' nothing is known of how it is said; None where nothing is
    instead : phones that were heard in its place, of the 39, with blanks between; only with 'otherwise'
    """

    text: str
    who: str | None
    heard: bool
    confidence: float
    start_s: float | None = None
    end_s: float | None = None
    problem: str | None = None
    why: Why | None = None
    instead: str | None = None


@dataclass(frozen=True)
class Breath:
    """A breath or mouth noise. level_db: over the pause's own noise floor. confidence 0..1. who: whose, where known."""

    kind: Literal["inhale", "exhale", "smack"]
    start_s: float
    end_s: float
    level_db: float
    confidence: float = 1.0
    who: str | None = None


@dataclass(frozen=True)
class Tremor:
    """A shake of voice or breath: rate in Hz (4..12), depth as a fraction of the level (0..1) or semitones of pitch."""

    start_s: float
    end_s: float
    rate_hz: float
    depth: float
    carrier: Literal["level", "pitch"]


@dataclass(frozen=True)
class Accent:
    """Where the voice leans. rank 1 is the strongest; strength has no unit, 1 = the shot's median accent."""

    time_s: float
    strength: float
    rank: int
    word: int | None = None


@dataclass(frozen=True)
class Voicing:
    """A stretch of sound that is voice (pitched), noise (unvoiced) or silence."""

    kind: Literal["voiced", "unvoiced", "silence"]
    start_s: float
    end_s: float


@dataclass(frozen=True)
class Look:
    """Who looks at what, over frame indices first..last (both ends in), as given or as proposed.

    at : a character, 'prop.mark', 'camera', or 'a drawn point'
    confidence : 0..1 that it is a look at that; 1 for what the cast says
    """

    who: str
    at: str
    first: int
    last: int
    proposed: bool = False
    confidence: float = 1.0


@dataclass(frozen=True)
class Blink:
    """Lids of one character over frame indices first..last; `shut` is the index with the least opening."""

    who: str
    first: int
    shut: int
    last: int
    partial: bool = False
