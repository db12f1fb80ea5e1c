"""accent: what head, brows and hands do against what the voice leans on. Levels 2 and 3, with sound and lines.

One accent that nothing answers says little, and chance answers many. So a part is judged over all accents of one speaker in one shot: how far its
quickest moments lie from the voice's, at the median of three and more.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from shotcrit.checks.about import Column, Kind, Limits, Needs
from shotcrit.checks.finding import COMMON, Curve, Finding, Limit, NotMeasured, Result
from shotcrit.checks.parts import part_name
from shotcrit.checks.sure import BAR, beyond
from shotcrit.clock import Span
from shotcrit.counted import counted
from shotcrit.readings.bundle import Readings
from shotcrit.readings.events import Accent
from shotcrit.readings.motion.paths import Path, paths_of
from shotcrit.readings.shots import shots_of

Array = npt.NDArray[np.float64]

ID = "accent"
TITLE = "Accents"
HELP = "Holds the quickest moments of head, brows and hands against the accents of the voice: on them, ahead, late, or missing on the strongest."
NAME = "accent"
VERSION = 1
COLUMN: Column = "body"
KINDS = (Kind("late", "late"), Kind("missing", "missing"))
PARTS: Mapping[str, tuple[str, ...]] = {
    "nose": ("chest", "hips"), "hand_left": ("chest", "hips"), "hand_right": ("chest", "hips"), "brow_left": ("nose",), "brow_right": ("nose",),
}  # fmt: skip
"""Parts that carry accents, and what each is measured against: the first of these that is seen."""
NEEDS = Needs(("sound", "lines", "cast"), marks=("nose", "chest", "hips", "hand_left", "hand_right", "brow_left", "brow_right"))
LIMITS = (
    Limit("late", 3.0, "frames", "Thomas & Johnston (1981, The Illusion of Life, second hand): accents come three to four frames ahead of the voice; "
          "from memory: beats are seen to be late from 0.2 s on (Leonard & Cummins 2011, Lang. Cogn. Process. 26:1457-1471); guess: three frames between",
          "How far the body's accents may come after the voice's, at their median."),
    Limit("accents", 3, "in a shot", "guess: two may be chance", "Accents that have to be answered by a part before it is judged."),
    Limit("strong", 2.0, "times", "guess: twice the shot's median accent asks for something", "How strong an accent has to be to miss what others have."),
    Limit("speed", 0.0008, "of the width a frame", "guess: 1.5 px of 1920 a frame are seen in a head", "Quickest moments that count as accents of the body."),
)  # fmt: skip
REACH_S = 0.5
"""s each way in which a quick moment answers an accent (Kirchhof 2014: half a second and more may pass unnoticed)."""
STANDS_OUT = 1.6
"""Times the median speed, that a quickest moment has (guess)."""


@dataclass(frozen=True)
class Answered:
    """How a part answers one speaker's accents in one shot.

    lags : frames, one an accent, late is positive; nan where nothing answers; curve : speed, px a frame, of `span`'s frames
    """

    who: str
    part: str
    span: Span
    accents: tuple[Accent, ...]
    frames: Array
    lags: Array
    speed: Array
    level: int

    @property
    def lag(self) -> float:
        """Frames at the median of what is answered, nan where nothing is."""
        known = self.lags[np.isfinite(self.lags)]
        return float(np.median(known)) if len(known) else float("nan")

    def answers(self, accent: Accent) -> bool:
        """Whether the part has a quick moment near an accent."""
        return any(a is accent and bool(np.isfinite(lag)) for a, lag in zip(self.accents, self.lags, strict=True))

    @property
    def error(self) -> float:
        """Standard error of the median: 1.25 times the spread over the root of the number (calculated for a normal variable)."""
        known = self.lags[np.isfinite(self.lags)]
        spread = 1.4826 * float(np.median(np.abs(known - np.median(known)))) if len(known) else float("inf")
        return 1.25 * max(spread, 1.0) / max(len(known), 1) ** 0.5


def run(readings: Readings, limits: Limits) -> Result:
    """Findings of kinds late and missing. value: frames late, or how strong the accent is."""
    if readings.medium != "cg" or readings.sound is None or not readings.sound.accents:
        return Result(
            not_measured=() if readings.sound and readings.sound.accents else (NotMeasured(ID, None, "speech whose accents are heard"),)
        )
    found: list[Finding] = []
    for group in _by_shot(answers(readings, limits)):
        found += _late(readings, group, limits) or _missing(readings, group, limits)
    return Result(tuple(found))


def answers(readings: Readings, limits: Limits) -> list[Answered]:
    """Every part of every speaker in every shot."""
    sound = readings.sound
    paths = paths_of(readings)
    found: list[Answered] = []
    for shot in shots_of(readings):
        for who in {path.who: None for path in paths}:
            own = [path for path in paths if path.who == who and path.shot == shot]
            said = [
                a for a in (sound.accents if sound else ()) if _speaker(readings, a) == who and readings.clock.frame_at(a.time_s) in shot
            ]
            if said:
                found += [
                    one for part, against in PARTS.items() if (one := _answered(readings, own, part, against, said, limits)) is not None
                ]
    return found


def _speaker(readings: Readings, accent: Accent) -> str | None:
    words = readings.sound.words if readings.sound else ()
    return words[accent.word].who if accent.word is not None and accent.word < len(words) else None


def _answered(
    readings: Readings, own: Sequence[Path], part: str, against: Sequence[str], said: Sequence[Accent], limits: Limits
) -> Answered | None:
    way = next((p for p in own if p.mark == part), None)
    base = _seen_beside(own, way, against)
    if way is None or base is None or not np.isfinite(way.scale):
        return None
    first = way.span.start - base.span.start
    steps = np.linalg.norm(np.diff(way.at - base.at[first : first + len(way.at)], axis=0), axis=1) * way.scale
    speed = np.convolve(np.pad(steps, 1, mode="edge"), [0.25, 0.5, 0.25], mode="valid")
    error = 2 * float(np.median(way.error)) * way.scale
    peaks = _peaks(speed, max(limits["speed"] * (readings.movie.width or 1) + BAR * error, STANDS_OUT * float(np.median(speed))))
    frames = np.array([a.time_s * float(readings.movie.rate) for a in said])
    # A step belongs between its two frames.
    at = peaks + way.span.start + 0.5
    seen = [(f, a) for f, a in zip(frames, said, strict=True) if round(f) in way.span]
    if not seen:
        return None
    reach = REACH_S * float(readings.movie.rate)
    lags = np.array([_nearest(at, f, reach) for f, _ in seen])
    return Answered(way.who, part, way.span, tuple(a for _, a in seen), np.array([f for f, _ in seen]), lags, speed, way.level)


def _seen_beside(own: Sequence[Path], way: Path | None, against: Sequence[str]) -> Path | None:
    """The first of these marks that is seen on every frame of a way."""
    if way is None:
        return None
    return next(
        (p for name in against for p in own if p.mark == name and p.level == way.level and p.span.overlap(way.span) == way.span), None
    )


def _peaks(speed: Array, least: float) -> Array:
    """Places of the greatest speeds, each greater than those beside it, to a part of a frame by a parabola through the three."""
    inner = (speed[1:-1] >= speed[:-2]) & (speed[1:-1] > speed[2:]) & (speed[1:-1] > least)
    top = np.flatnonzero(inner) + 1
    before, here, after = speed[top - 1], speed[top], speed[top + 1]
    return np.asarray(top + 0.5 * (before - after) / np.minimum(before - 2 * here + after, -1e-12))


def _nearest(peaks: Array, frame: float, reach: float) -> float:
    lags = peaks - frame
    lags = lags[np.abs(lags) <= reach]
    return float(lags[np.abs(lags).argmin()]) if len(lags) else float("nan")


def _by_shot(answered: Sequence[Answered]) -> list[list[Answered]]:
    """The parts of one speaker in one shot, the one that answers most first."""
    groups: dict[tuple[str, float], list[Answered]] = {}
    for one in answered:
        groups.setdefault((one.who, one.accents[0].time_s), []).append(one)
    return [sorted(group, key=lambda a: -int(np.isfinite(a.lags).sum())) for group in groups.values()]


def _late(readings: Readings, group: Sequence[Answered], limits: Limits) -> list[Finding]:
    """One finding for a speaker whose answering parts are all late."""
    judged = [one for one in group if np.isfinite(one.lags).sum() >= limits["accents"]]
    if not judged or not all(one.lag > 0 and beyond(one.lag, limits["late"], one.error) for one in judged):
        return []
    lead = judged[0]
    span = _over(lead)
    late = counted(round(lead.lag), "frame")
    return [
        Finding(
            check=ID, kind="late", who=lead.who, span=span, value=round(lead.lag, 1), unit="frames, + when the body comes late", limit=limits["late"],
            weight="polish",
            confidence=0.65 if lead.level == 3 else 0.55,
            says=f"{lead.who}'s {part_name(lead.part)} comes {late} after the voice's accents over {readings.numbering.text(span)}",
            suggest=f"Bring the accents {late} forward and more, so that they lead the voice by two to four", basis=LIMITS[0].basis,
            level=3 if lead.level == 3 else 2, curves=(_curve(lead),), frames=tuple(int(f) for f in lead.frames),
        )
    ]  # fmt: skip


def _missing(readings: Readings, group: Sequence[Answered], limits: Limits) -> Iterator[Finding]:
    """The strongest accent, where nothing moves on it and most of the others are carried by something."""
    lead = group[0]
    strongest = max(lead.accents, key=lambda a: a.strength)
    carried = {accent: any(one.answers(accent) for one in group) for accent in lead.accents}
    others = [answered for accent, answered in carried.items() if accent is not strongest]
    if strongest.strength < limits["strong"] or carried[strongest] or len(others) < limits["accents"] or not all(others):
        return
    words = readings.sound.words if readings.sound else ()
    word = f" on '{words[strongest.word].text}'" if strongest.word is not None else ""
    frame = readings.clock.frame_at(strongest.time_s)
    yield Finding(
        check=ID, kind="missing", who=lead.who, span=Span(frame, frame + 1), value=round(strongest.strength, 1), unit="times the shot's median accent",
        limit=limits["strong"], weight="polish", confidence=0.5,
        says=f"The voice leans hardest{word} at {readings.numbering.shown(frame)}, and nothing of {lead.who} answers, as it does on the other accents",
        suggest="Try a small nod, a brow or a hand three frames ahead of it, if the thought asks for it", basis=f"{COMMON}: the strongest accent has a body",
        level=3 if lead.level == 3 else 2, curves=(_curve(lead),),
    )  # fmt: skip


def _over(answered: Answered) -> Span:
    frames = answered.frames[np.isfinite(answered.lags)]
    return Span(int(frames.min()), int(frames.max()) + 1)


def _curve(answered: Answered) -> Curve:
    """Speed of the part; as wanted: as high as its greatest on the frames on which the voice leans."""
    wanted = np.zeros(len(answered.speed))
    wanted[np.clip(answered.frames.astype(int) - answered.span.start, 0, len(wanted) - 1)] = float(answered.speed.max())
    return Curve(
        f"speed of {part_name(answered.part)}, the voice's accents as wanted",
        "px a frame",
        answered.span.start,
        tuple(map(float, answered.speed)),
        tuple(map(float, wanted)),
    )
