"""Measuring from a script or a notebook: one call, and everything measured as plain lists and arrays."""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping, Sequence
from fractions import Fraction
from functools import cached_property
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt

from shotcrit.checks.finding import Finding as CheckFinding
from shotcrit.checks.measured import Measured
from shotcrit.clock import FrameClock, parse_rate, rate_label
from shotcrit.counted import counted
from shotcrit.deliver.measure_json import measure_text
from shotcrit.library.items import (
    Accent,
    Blink,
    Breath,
    Finding,
    Items,
    Line,
    Look,
    NotMeasured,
    Phone,
    Tremor,
    Word,
    table_html,
)  # fmt: skip
from shotcrit.library.series import Series, series_of
from shotcrit.library.sheet import SheetDrawing, draw_sheet
from shotcrit.measuring.deliveries import chosen, send_measured
from shotcrit.measuring.kept import kept_measured
from shotcrit.measuring.measure import Workbench, open_medium
from shotcrit.measuring.measure import measure as measure_request
from shotcrit.measuring.request import request_from_files
from shotcrit.measuring.settled import settled
from shotcrit.media import Movie
from shotcrit.progress import Progress, Quiet
from shotcrit.readings.bundle import Medium, SoundReadings
from shotcrit.readings.frame_times import frame_starts
from shotcrit.readings.speech import speakers
from shotcrit.sheet.lanes.seen import wanted_opening

Step = Callable[[str, float, float | None], None]
"""Is told the stage, how much of it is done, and of how much (None where that is not known). What it raises stops the work."""


def measure(
    path: str | Path,
    *,
    lines: str | Path | None = None,
    cast: str | Path | None = None,
    marks: str | Path | None = None,
    scene: str | Path | None = None,
    sound: str | Path | None = None,
    rate: str | float | Fraction | None = None,
    first_frame: int | None = None,
    cast_from: int | None = None,
    count_from: int | None = None,
    count_to: int | None = None,
    medium: Medium = "cg",
    limits: Mapping[str, float] | None = None,
    characters: str | Path | None = None,
    progress: Step | None = None,
    pictures: bool = False,
) -> Shot:
    """Measure a movie, a run of pictures or a sound. The options are those of `shotcrit measure`.

    progress : is called as the work goes on; pictures : also make the pictures that the room shows
    Raises ShotcritError, one sentence, for bad input. What was measured before is remembered, as it is by the commands.
    """
    files = {"lines": lines, "cast": cast, "marks": marks, "scene": scene, "sound": sound, "characters": characters}
    request = request_from_files(
        Path(path), rate=None if rate is None else _rate(rate), first_frame=first_frame, cast_from=cast_from,
        count_from=count_from, count_to=count_to, medium=medium, limits=limits,
        **{name: None if file is None else Path(file) for name, file in files.items()},
    )  # fmt: skip
    bench = Workbench(progress=Quiet() if progress is None else _Told(progress), proxy=pictures)
    movie = open_medium(request, bench.progress)
    request = settled(request, movie.info)
    known = None if pictures else kept_measured(bench.cache.medium(movie.info.sha256), request, movie.info.sha256)
    return Shot(known or measure_request(request, bench, movie=movie), movie, bench)


def _rate(rate: str | float | Fraction) -> Fraction:
    return rate if isinstance(rate, Fraction) else parse_rate(str(rate))


class _Told(Progress):
    """A function as Progress."""

    def __init__(self, step: Step) -> None:
        self._step = step

    def step(self, stage: str, done: float, total: float | None) -> None:
        self._step(stage, done, total)


class Shot:
    """One shot, measured. Frames are counted from `first_frame` and ranges include both ends; times are seconds from the first picture."""

    def __init__(self, measured: Measured, movie: Movie, bench: Workbench) -> None:
        self._measured, self._movie, self._bench = measured, movie, bench

    @property
    def path(self) -> Path:
        return Path(self._movie.info.path)

    @property
    def clock(self) -> FrameClock:
        """Which frame is on screen when; frames of the clock are counted from 0."""
        return self._measured.readings.clock

    @property
    def rate(self) -> Fraction:
        """Frames a second."""
        return self._movie.info.rate

    @property
    def first_frame(self) -> int:
        return self._movie.info.first_frame

    @property
    def frames(self) -> npt.NDArray[np.int64]:
        """The frames' numbers."""
        return np.arange(len(self.clock)) + self.first_frame

    @property
    def seconds(self) -> npt.NDArray[np.float64]:
        """Where each frame starts."""
        return frame_starts(self.clock)

    @cached_property
    def findings(self) -> Items[Finding]:
        """In the order of the shot."""
        return Items(map(self._finding, self._measured.findings), Finding, "finding")

    @cached_property
    def not_measured(self) -> Items[NotMeasured]:
        found = (NotMeasured(m.check, m.who, m.needs) for m in self._measured.not_measured)
        return Items(found, NotMeasured, "thing not measured", "things not measured")

    @cached_property
    def words(self) -> Items[Word]:
        found = (Word(w.text, w.who, w.start_s, w.end_s, *self._shown(w.start_s, w.end_s), w.confidence, w.line) for w in self._sound.words)
        return Items(found, Word, "word")

    @cached_property
    def phones(self) -> Items[Phone]:
        whose = [None if p.word is None else self._sound.words[p.word].who for p in self._sound.phones]
        found = (
            Phone(p.phone, p.stress, p.word, who, p.start_s, p.end_s, *self._shown(p.start_s, p.end_s))
            for p, who in zip(self._sound.phones, whose, strict=True)
        )
        return Items(found, Phone, "phone")

    @cached_property
    def breaths(self) -> Items[Breath]:
        """Mouth noises (smacks) too."""
        found = (
            Breath(b.kind, b.who, b.start_s, b.end_s, *self._shown(b.start_s, b.end_s), b.level_db, b.confidence)
            for b in self._sound.breaths
        )
        return Items(found, Breath, "breath")

    @cached_property
    def tremors(self) -> Items[Tremor]:
        found = (Tremor(t.start_s, t.end_s, *self._shown(t.start_s, t.end_s), t.rate_hz, t.depth, t.carrier) for t in self._sound.tremors)
        return Items(found, Tremor, "tremor")

    @cached_property
    def accents(self) -> Items[Accent]:
        found = (Accent(a.time_s, self._at(self.clock.frame_at(a.time_s)), a.strength, a.rank, a.word) for a in self._sound.accents)
        return Items(found, Accent, "accent")

    @cached_property
    def lines(self) -> Items[Line]:
        """As given, and whether each was said."""
        return Items((Line(n.text, n.who, n.heard, n.confidence, n.problem, n.why, n.instead) for n in self._sound.lines), Line, "line")

    @cached_property
    def looks(self) -> Items[Look]:
        found = (Look(k.who, k.at, self._at(k.first), self._at(k.last), k.proposed, k.confidence) for k in self._measured.readings.looks)
        return Items(found, Look, "look")

    @cached_property
    def blinks(self) -> Items[Blink]:
        found = (Blink(b.who, self._at(b.first), self._at(b.shut), self._at(b.last), b.partial) for b in self._measured.readings.blinks)
        return Items(found, Blink, "blink")

    @property
    def cuts(self) -> list[int]:
        """The first frame of each new shot."""
        picture = self._measured.readings.picture
        return [self._at(cut) for cut in picture.cuts] if picture else []

    @property
    def assumed(self) -> list[str]:
        """What was taken for granted while measuring."""
        return [assumed.says for assumed in self._measured.readings.assumed]

    @cached_property
    def series(self) -> Mapping[str, Series]:
        """Every measured series by name: 'movement', 'dead', 'wave', 'Ada.mouth.opening', 'Ada.mouth.wanted', 'Ada.lids.left', 'Ada.marks.nose', ..."""
        readings = self._measured.readings
        heard = speakers(readings) if self._sound.phones else ()
        return series_of(readings, {who: wanted_opening(readings, who) for who in sorted(heard)})

    def sheet(self, first: int | None = None, last: int | None = None) -> SheetDrawing:
        """The exposure sheet, which a notebook shows; of frames first to last, or of the whole shot."""
        return draw_sheet(self._measured, first, last)

    def document(self) -> dict[str, Any]:
        """What `shotcrit measure --json` writes."""
        made: dict[str, Any] = json.loads(measure_text(self._measured))
        return made

    def write(self, kind: str | Sequence[str], folder: str | Path) -> list[Path]:
        """Write one delivery or more into a folder, each whole or not at all: sheet, page, findings, json, textgrid. Raises InputError, one sentence."""
        names = [kind] if isinstance(kind, str) else list(kind)
        chosen(names)
        return send_measured(self._measured, self._movie, Path(folder), names=names, cache=self._bench.cache, progress=self._bench.progress)

    @property
    def _sound(self) -> SoundReadings:
        return self._measured.readings.sound or SoundReadings()

    def _at(self, index: int) -> int:
        return self._measured.readings.numbering.shown(index)

    def _shown(self, start_s: float, end_s: float) -> tuple[int | None, int | None]:
        span = self.clock.frames(start_s, end_s)
        return (None, None) if span is None else (self._at(span.start), self._at(span.last))

    def _finding(self, f: CheckFinding) -> Finding:
        return Finding(
            f.check, f.kind, f.who, self._at(f.span.start), self._at(f.span.last), f.value, f.unit, f.limit, f.weight, f.confidence, f.level,
            f.says, f.suggest, f.basis,
        )  # fmt: skip

    def __repr__(self) -> str:
        return f"<Shot {self._movie.info.name}: {self._facts}>"

    @property
    def _facts(self) -> str:
        last = self._at(len(self.clock) - 1)
        return f"frames {self.first_frame} to {last} at {rate_label(self.rate)}, {counted(len(self.findings), 'finding')}"

    def _repr_html_(self) -> str:
        told = ("check", "kind", "who", "first", "last", "value", "unit", "weight", "says")
        return table_html({name: self.findings.columns()[name] for name in told}, f"{self._movie.info.name}: {self._facts}")
