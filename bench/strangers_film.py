"""How right the checks of the picture are on film that nobody here made, by a judge that uses nothing of ours: grey frames by FFmpeg, and what changes in them.

The judge's rules, stated before anything was tuned: d(i) is the mean absolute difference of frame i from i - 1, 8-bit steps, at 480 px. A frame is
doubled where d(i) is under 0.35 of the smaller of its two neighbours' steps; dropped where d(i) is over 1.5 times the mean of the four around it and these
are even; dead where d(i) is next to nothing; black under a mean of 3. A conversion is right where doubled frames are as many as it says. A rate varies, and
sound and picture end apart, as the time stamps of the file's own packets say. What it has no rule for is not judged.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path

import av
import numpy as np
import numpy.typing as npt
from tests.make.picture_rows import read_film

from shotcrit.checks.finding import Finding
from shotcrit.checks.registry import all_checks, limits_for
from shotcrit.errors import ShotcritError
from shotcrit.readings.bundle import Readings

WIDTH = 480
DOUBLED, DROPPED, EVEN = 0.35, 1.5, 0.3
STILL = 0.15
"""8-bit steps: a frame that changes by less repeats (the noise of codecs that skip still blocks; with grain, a tenth of the usual step)."""
STILL_SHARE = 0.1
BLACK = 3.0
ENOUGH = 0.6
"""of the frames that a conversion should double."""
SAME_TIMES, SAME_FRAMES = 0.1, 1.0
"""How near a told ratio has to come to the packets' own, and a told length in frames: a packet of sound is about half a frame long."""
ENDINGS = frozenset({".mp4", ".mov", ".mkv", ".webm", ".avi", ".ogv"})
CHECKS = ("hold", "cadence")
Floats = npt.NDArray[np.float64]
Verdict = bool | None


@dataclass(frozen=True)
class Times:
    """What packets say. steps : s from picture to picture; picture, sound : s when each ends, on the file's own axis; sound None where there is none"""

    steps: Floats
    picture: float
    sound: float | None

    @property
    def frame(self) -> float:
        return float(np.median(self.steps))


@dataclass(frozen=True)
class Judge:
    """grey : uint8 [shape=(n, h, w)]; step : d(i), nan on the first; luma : mean of each frame"""

    grey: npt.NDArray[np.uint8]
    step: Floats
    luma: Floats
    times: Times

    def of(self, finding: Finding) -> list[Verdict]:
        """Whether it is right, for each frame that it lists, else once; None where there is no rule."""
        rule = _RULES.get((finding.check, finding.kind))
        if rule is None:
            return [None]
        frames = finding.frames or (None,)
        return [rule(self, finding, frame) for frame in frames]

    def usual(self) -> float:
        """The usual step where anything changes."""
        moving = self.step[self.step > STILL]
        return float(np.median(moving)) if len(moving) else 0.0

    def doubled(self, i: int) -> bool:
        return 2 <= i < len(self.step) - 1 and bool(self.step[i] < DOUBLED * min(self.step[i - 1], self.step[i + 1]))


def judge_of(film: Path) -> Judge:
    """Decode a film for the judge."""
    with av.open(str(film)) as file:
        grey = np.stack([_grey(frame) for frame in file.decode(video=0)])
    step = [float(np.abs(b.astype(np.int16) - a).mean()) for a, b in pairwise(grey)]
    return Judge(grey, np.array([np.nan, *step]), grey.reshape(len(grey), -1).mean(axis=1), _times(film))


def _times(film: Path) -> Times:
    seen: list[float] = []
    heard: list[float] = []
    with av.open(str(film)) as file:
        pictures, sound = file.streams.video[0], next(iter(file.streams.audio), None)
        usual = 1 / float(pictures.average_rate or 24)
        for packet in file.demux([stream for stream in (pictures, sound) if stream is not None]):
            if packet.pts is None or packet.time_base is None:
                continue
            start, lasts = float(packet.pts * packet.time_base), float((packet.duration or 0) * packet.time_base)
            if packet.stream.index == pictures.index:
                seen.append(start)
            else:
                heard.append(start + lasts)
    steps = np.diff(sorted(seen)) if len(seen) > 1 else np.array([usual])
    return Times(steps, max(seen) + float(np.median(steps)), max(heard, default=None))


def _grey(frame: av.VideoFrame) -> npt.NDArray[np.uint8]:
    height = max(2, round(frame.height * WIDTH / frame.width / 2) * 2)
    return np.asarray(frame.reformat(width=WIDTH, height=height, format="gray").to_ndarray(), np.uint8)


def _doubled(judge: Judge, finding: Finding, frame: int | None) -> Verdict:
    return judge.doubled(finding.span.start if frame is None else frame)


def _dropped(judge: Judge, finding: Finding, frame: int | None) -> Verdict:
    i = finding.span.start if frame is None else frame
    near = judge.step[[k for k in (i - 2, i - 1, i + 1, i + 2) if 0 < k < len(judge.step)]]
    mean = float(near.mean())
    return bool(judge.step[i] > DROPPED * mean and np.abs(near - mean).max() < EVEN * mean)


def _dead(judge: Judge, finding: Finding, frame: int | None) -> Verdict:
    here = slice(finding.span.start, finding.span.stop)
    still = float(np.median(judge.step[here])) < max(STILL, STILL_SHARE * judge.usual())
    return still and float(judge.luma[here].mean()) >= BLACK


def _region(judge: Judge, finding: Finding, frame: int | None) -> Verdict:
    x, y = np.array(finding.strokes[0].points).T
    height, width = judge.grey.shape[1:]
    box = (slice(int(y.min() * height), int(y.max() * height)), slice(int(x.min() * width), int(x.max() * width)))
    part = judge.grey[:, box[0], box[1]].astype(np.int16)
    step = np.abs(np.diff(part, axis=0)).mean(axis=(1, 2))
    inside = step[finding.span.start - 1 : finding.span.stop - 1]
    beside = np.concatenate(
        [step[max(0, finding.span.start - 7) : finding.span.start - 1], step[finding.span.stop - 1 : finding.span.stop + 5]]
    )
    return bool(inside.mean() < max(STILL, DOUBLED * float(np.median(beside))))


def _conversion(judge: Judge, finding: Finding, frame: int | None) -> Verdict:
    if finding.value >= finding.limit or "pulldown" in finding.says:
        return None
    changing = [i for i in range(2, len(judge.step) - 1) if min(judge.step[i - 1], judge.step[i + 1]) > STILL]
    due = len(changing) * (1 - finding.value / finding.limit)
    if finding.value <= finding.limit / 2:
        # A picture that stands three times or more has no moving neighbour: its repeats are counted plainly.
        return bool((judge.step[1:] < STILL).mean() > ENOUGH * (1 - finding.value / finding.limit))
    return sum(map(judge.doubled, changing)) >= ENOUGH * due


def _variable(judge: Judge, finding: Finding, frame: int | None) -> Verdict:
    steps, usual = judge.times.steps, judge.times.frame
    return bool(min(abs(finding.value - steps.max() / usual), abs(finding.value - steps.min() / usual)) < SAME_TIMES)


def _length(judge: Judge, finding: Finding, frame: int | None) -> Verdict:
    times = judge.times
    return times.sound is not None and abs((times.sound - times.picture) / times.frame - finding.value) < SAME_FRAMES


_RULES: dict[tuple[str, str], Callable[[Judge, Finding, int | None], Verdict]] = {
    ("cadence", "doubled"): _doubled,
    ("cadence", "dropped"): _dropped,
    ("cadence", "conversion"): _conversion,
    ("cadence", "variable"): _variable,
    ("cadence", "length"): _length,
    ("hold", "head"): _dead,
    ("hold", "tail"): _dead,
    ("hold", "inside"): _dead,
    ("hold", "region"): _region,
}


def _findings(readings: Readings) -> Iterator[Finding]:
    for check in all_checks():
        if check.ID in CHECKS:
            yield from check.run(readings, limits_for(check, {})).findings


def clips_of(folder: Path) -> list[Path]:
    """The films of `folder`/clips, by name."""
    return sorted(f for f in (folder / "clips").glob("*") if f.suffix in ENDINGS)


def report(folder: Path) -> str:
    """Precision of each kind and weight over all clips of `folder`/clips, as Markdown; '' where there are none."""
    films = clips_of(folder)
    if not films:
        return ""
    counts: dict[tuple[str, str, str], list[Verdict]] = defaultdict(list)
    lines, black = [], np.zeros(3, int)
    for film in films:
        try:
            readings = read_film(film)
            judge = judge_of(film)
        except (ShotcritError, av.FFmpegError, ValueError) as problem:
            lines.append(f"- {film.name}: not read ({str(problem).splitlines()[0]})")
            continue
        for finding in _findings(readings):
            verdicts = judge.of(finding)
            counts[finding.check, finding.kind, finding.weight] += verdicts
            wrong = [finding.frames[i] if finding.frames else finding.span.start for i, v in enumerate(verdicts) if v is False]
            lines += [f"- {film.name}: {finding.check} {finding.kind} wrong at index {', '.join(map(str, wrong))}"] if wrong else []
        black += _black(readings, judge)
    return "\n".join(
        [
            _table(counts),
            "",
            _sum_of(counts),
            f"Black frames: {black[0]} told, {black[1]} by the judge, {black[2]} by both.",
            "",
            *lines,
            "",
        ]
    )


def _black(readings: Readings, judge: Judge) -> npt.NDArray[np.int64]:
    """Frames that we call black or a card (a title on black is black to the judge), that the judge does, that both do."""
    ours = np.zeros(len(judge.luma), np.bool_)
    for span in (*readings.picture.black, *readings.picture.cards) if readings.picture else ():
        ours[span.start : span.stop] = True
    theirs = judge.luma < BLACK
    return np.array([ours.sum(), theirs.sum(), (ours & theirs).sum()])


def _table(counts: dict[tuple[str, str, str], list[Verdict]]) -> str:
    head = "| check | kind | weight | told | judged | right |\n| --- | --- | --- | --- | --- | --- |"
    rows = [f"| {' | '.join(key)} | {len(found)} | {_known(found)} | {found.count(True)} |" for key, found in sorted(counts.items())]
    return "\n".join([head, *rows])


def _sum_of(counts: dict[tuple[str, str, str], list[Verdict]]) -> str:
    said = []
    for weight in ("must", "polish"):
        found = [v for key, verdicts in counts.items() if key[2] == weight for v in verdicts]
        right = f"{found.count(True) / _known(found):.0%}" if _known(found) else "none judged"
        said.append(f"`{weight}`: {found.count(True)} of {_known(found)} judged are right ({right}).")
    return " ".join(said)


def _known(verdicts: list[Verdict]) -> int:
    return sum(v is not None for v in verdicts)
