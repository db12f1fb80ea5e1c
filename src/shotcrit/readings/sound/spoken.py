"""Lines, words and phones in time, whoever found them: the aligner, or a TextGrid."""

from __future__ import annotations

from dataclasses import dataclass, replace

from shotcrit.readings.events import Line, Phone, Word


@dataclass(frozen=True)
class Spoken:
    """Lines, words and phones in time; seconds from the start of the sound (or of the picture, where said)."""

    lines: tuple[Line, ...] = ()
    words: tuple[Word, ...] = ()
    phones: tuple[Phone, ...] = ()

    def shifted(self, by_s: float) -> Spoken:
        """The same, `by_s` seconds later."""
        return Spoken(
            tuple(
                replace(x, start_s=None if x.start_s is None else x.start_s + by_s, end_s=None if x.end_s is None else x.end_s + by_s)
                for x in self.lines
            ),
            tuple(replace(w, start_s=w.start_s + by_s, end_s=w.end_s + by_s) for w in self.words),
            tuple(replace(p, start_s=p.start_s + by_s, end_s=p.end_s + by_s) for p in self.phones),
        )
