"""teeth: can the audience read an open mouth? Teeth and tongue against the dark behind them, and one character against the other. From faces that were found.

Told by many frames on which the lips are surely apart, of a face that is large enough. How a mouth is lit may be meant: nothing here weighs more than polish.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import combinations

import numpy as np
import numpy.typing as npt

from shotcrit.checks.about import Column, Kind, Limits, Needs
from shotcrit.checks.finding import Curve, Finding, Limit, NotMeasured, Result
from shotcrit.clock import Span
from shotcrit.geometry.colour import contrast, lab, unlike
from shotcrit.readings.bundle import Readings
from shotcrit.readings.faces import FoundFace

Array = npt.NDArray[np.float64]

ID = "teeth"
TITLE = "Teeth and tongue"
HELP = "Whether an open mouth can be read: teeth and tongue that stand out from the dark behind them, of one character as well as of the other."
NAME = "teeth"
VERSION = 1
COLUMN: Column = "mouth"
KINDS = (Kind("inside", "nothing inside"), Kind("beside", "less than the other"))
NEEDS = Needs(("pictures", "lines"))
LIMITS = (
    Limit("inside", 10.0, "CIEDE2000", "guess, between what was measured: 25 to 63 on six generated heads with teeth, 1 to 6 on five without, and 17 on one "
          "(Sharma, Wu & Dalal 2005, Color Res. Appl. 30:21-30, for the measure)",
          "How unlike the brightest and the darkest part between open lips are at least."),
    Limit("beside", 3.0, "times", "guess: what is a third as clear is not read beside the other",
          "How much clearer the inside of one mouth may be than that of another in the same shot."),
)  # fmt: skip
OPEN, FEWEST = 0.15, 6
"""Of the mouth's width: from here on lips are surely apart; and the frames of it that tell what is inside (guess)."""
CLEAREST = 75
"""Percentile of open frames that speaks for a mouth: one that shows teeth now and then shows them (guess)."""
NEEDED = "a face that is found, named by its lines, and opens a mouth of 16 px or more"
TOGETHER = 24
"""Frames on which two faces are seen at once, to be held against each other (guess: a second)."""


@dataclass(frozen=True)
class Read:
    """A named face's mouth. inside, light : [shape=(frames of the face,)] CIEDE2000 and contrast ratio of bright and dark inside, nan where it is not open"""

    face: FoundFace
    who: str
    inside: Array
    light: Array

    @property
    def clear(self) -> float:
        """Of `inside`; nan where too few frames tell it."""
        known = self.inside[np.isfinite(self.inside)]
        return float(np.percentile(known, CLEAREST)) if len(known) >= FEWEST else float("nan")


def run(readings: Readings, limits: Limits) -> Result:
    """Judge every face that has a name and opens its mouth. Drawings have the mouths that are drawn, and are left alone."""
    if readings.medium != "cg":
        return Result()
    mouths = [_read(face, face.who) for face in readings.faces if face.who is not None and face.colours is not None]
    found = [finding for mouth in mouths for finding in _inside(readings, mouth, limits)]
    found += _beside(readings, mouths, limits)
    seen = {mouth.who for mouth in mouths if np.isfinite(mouth.clear)}
    people = [person.name for person in readings.cast.characters] if readings.cast else []
    missing = [NotMeasured(ID, who, NEEDED) for who in people if who not in seen]
    if not people and not seen:
        missing.append(NotMeasured(ID, None, NEEDED))
    return Result(tuple(found), tuple(missing))


def _read(face: FoundFace, who: str) -> Read:
    assert face.colours is not None
    dark, bright = np.moveaxis(np.asarray(face.colours, np.float64), 1, 0)
    opened = np.nan_to_num(np.asarray(face.mouth.opening, np.float64)) >= OPEN
    return Read(face, who, *(np.where(opened, value, np.nan) for value in (unlike(lab(dark), lab(bright)), contrast(dark, bright))))


def _inside(readings: Readings, mouth: Read, limits: Limits) -> Iterator[Finding]:
    """Findings of kind inside. value: how unlike the brightest and the darkest part inside are."""
    if mouth.clear < limits["inside"]:
        light = float(np.nanpercentile(mouth.light, CLEAREST))
        yield _finding(
            readings, mouth, "inside", mouth.face.span, round(mouth.clear, 1), "CIEDE2000 between bright and dark inside", limits["inside"],
            f"{mouth.who}'s open mouth shows neither teeth nor tongue: its brightest part is only {light:.2f} times as light as its darkest",
            "Let some light into the mouth, so that teeth and tongue can be told from the dark",
        )  # fmt: skip


def _beside(readings: Readings, mouths: list[Read], limits: Limits) -> Iterator[Finding]:
    """Findings of kind beside, of two who are seen at once; what `inside` told is not told again. value: times as clear."""
    for pair in combinations(mouths, 2):
        both = pair[0].face.span.overlap(pair[1].face.span)
        less, more = sorted(pair, key=lambda mouth: mouth.clear)
        if both is None or len(both) < TOGETHER or less.who == more.who or not less.clear >= limits["inside"]:
            continue
        times = more.clear / less.clear
        if times > limits["beside"]:
            yield _finding(
                readings, less, "beside", both, round(times, 1), "times as clear is the other's mouth inside", limits["beside"],
                f"The inside of {less.who}'s mouth reads far less than that of {more.who}'s", "Bring the two nearer to each other, in light or in colour",
            )  # fmt: skip


def _finding(
    readings: Readings, mouth: Read, kind: str, span: Span, value: float, unit: str, limit: float, says: str, suggest: str
) -> Finding:
    return Finding(
        check=ID, kind=kind, who=mouth.who, span=span, value=value, unit=unit, limit=limit, weight="polish", confidence=0.6,
        says=f"{says}, {readings.numbering.text(span)}", suggest=suggest, basis=next(one.basis for one in LIMITS if one.name == kind), level=1.5,
        curves=(Curve("bright against dark inside", "CIEDE2000", mouth.face.span.start, tuple(mouth.inside.tolist())),),
        rests_on=() if mouth.face.said else (f"the face that was found there is {mouth.who}'s",),
    )  # fmt: skip
