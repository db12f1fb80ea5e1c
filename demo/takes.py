# ruff: noqa: E501 -- one curve or one fault a line reads best
"""Take 1 with its planted faults, take 2 with some mended, its middle slowed and one thing broken; and the key that lists them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np

import story
from acting import Faults
from voices import Phone

LATE_FRAMES = 3.0
CLEAN_EARLY_FRAMES = 0.5
"""The clean mouth is posed for the middle of each frame's time; against the frame's start, as the clock counts, it is that much early."""
EYES_UP_DEG = 12.0
KNEE = (38, 78, 0.026)
SLIDE = ((107, 0.007), (108, 0.014), (109, 0.023))
EYES = (213, 288)
STARE = ("Bram", 80, 280)
UNCLOSED_FIRST = ("Bram", 2, "m", 0)
"""who, line, phone, which of them: the m of 'mine'."""
UNCLOSED_SECOND = ("Oona", 1, "b", 1)
"""The b of 'boat'."""
BREATH = 1
"""Bram's, in story.BREATHS."""


@dataclass(frozen=True)
class Take:
    """u : [n] the story's frame of each live frame; tail : dead frames after them."""

    name: str
    u: np.ndarray
    tail: int
    faults: Faults
    key: list[dict] = field(default_factory=list)

    @property
    def n(self) -> int:
        return len(self.u) + self.tail

    def shown(self, frame: float) -> int:
        """The shown number of the first frame at or after a frame of the story."""
        return story.FIRST_SHOWN + int(np.searchsorted(self.u, frame - 1e-6))

    def seconds(self, story_s: float) -> float:
        """Where a moment of the story falls in the take."""
        if len(self.u) < 2:
            return story_s
        frames = np.append(self.u, self.u[-1] + np.arange(1, 60))
        return float(np.interp(story_s * story.FPS, frames, np.arange(len(frames))) / story.FPS)


def closure(phones: Mapping[int, Sequence[Phone]], which: tuple[str, int, str, int]) -> Phone:
    _, line, name, k = which
    return [p for p in phones[line] if p.name == name][k]


def first_closure_of_mine(phones: Mapping[int, Sequence[Phone]]) -> Phone:
    return closure(phones, UNCLOSED_FIRST)


def clean(n: int = story.LENGTH) -> Take:
    return Take("clean", np.arange(n, dtype=float), 0, Faults())


def first(phones: Mapping[int, Sequence[Phone]]) -> Take:
    tail = 7
    lost = closure(phones, UNCLOSED_FIRST)
    faults = Faults(
        mouth_late={3: LATE_FRAMES + CLEAN_EARLY_FRAMES}, unclosed=(lost.start_s,), unacted_breaths=(story.BREATHS[BREATH].start,),
        eyes_up=(("Oona", *EYES, EYES_UP_DEG),), slide=SLIDE, knee=KNEE, no_blinks=(STARE,),
    )  # fmt: skip
    take = Take("take1", np.arange(story.LENGTH - tail, dtype=float), tail, faults)
    take.key.extend([*_mended_later(take, phones, lost), *_left(take)])
    return take


def second(phones: Mapping[int, Sequence[Phone]]) -> Take:
    tail = 3
    low, high = story.RETIMED
    live = story.LENGTH - tail
    u = np.concatenate([np.arange(low), np.arange(low, high, 0.5), np.arange(high, live)]).astype(float)
    lost = closure(phones, UNCLOSED_SECOND)
    faults = Faults(unclosed=(lost.start_s,), knee=KNEE, no_blinks=(STARE,))
    take = Take("take2", u, tail, faults)
    take.key.append(_closure_row(take, lost, "Oona", "the b of 'boat' never closes; it did in take 1"))
    take.key.extend(_left(take))
    return take


def _row(take: Take, check: str, kind: str, who: str | None, frames: tuple[float, float], value: float, unit: str, note: str) -> dict:
    low, high = frames
    return {
        "check": check,
        "kind": kind,
        "who": who,
        "first": take.shown(low),
        "last": take.shown(high),
        "value": value,
        "unit": unit,
        "note": note,
    }


def _closure_row(take: Take, lost: Phone, who: str, note: str) -> dict:
    frames = np.floor(lost.start_s * story.FPS), np.floor(lost.end_s * story.FPS - 1e-6)
    return _row(take, "lipsync", "closure", who, frames, 0, "frames closed", note)


def _mended_later(take: Take, phones: Mapping[int, Sequence[Phone]], lost: Phone) -> list[dict]:
    breath = story.BREATHS[BREATH]
    line = phones[3]
    return [
        _row(take, "contact", "slip", "Bram", (SLIDE[0][0], SLIDE[-1][0]), SLIDE[-1][1] * 1000, "mm over the span", "the lantern's grip slides through his hand before the cut"),
        _row(take, "breath", "missing", "Bram", (breath.start * 24, (breath.start + breath.length) * 24 - 1), 0.0, "of a head's height", "heard, but neither chest, shoulders nor mouth move"),
        _closure_row(take, lost, "Bram", "the m of 'mine' never closes"),
        _row(take, "eyeline", "off_target", "Oona", EYES, EYES_UP_DEG, "degrees too high", "she should look at him and looks over his head"),
        _row(take, "lipsync", "offset", "Oona", (line[0].start_s * 24, line[-1].end_s * 24), LATE_FRAMES, "frames late", "her whole last line"),
    ]  # fmt: skip


def _left(take: Take) -> list[dict]:
    last = story.FIRST_SHOWN + take.n - 1
    stare = take.faults.no_blinks[0]
    before = max(b for b in story.BLINKS["Bram"] if b < stare[1]) + 8
    after = min(b for b in story.BLINKS["Bram"] if b > stare[2])
    rows = [
        _row(
            take,
            "echo",
            "alone",
            "Bram",
            KNEE[:2],
            KNEE[2] * 1000,
            "mm",
            "the left knee bobs three times a second and nothing else feels it",
        ),
        _row(take, "blink", "stare", "Bram", (before, after - 1), round((take.shown(after) - take.shown(before)) / 24, 3), "s", "no blink"),
    ]
    rows.append(
        {
            "check": "hold",
            "kind": "tail",
            "who": None,
            "first": last - take.tail + 1,
            "last": last,
            "value": take.tail,
            "unit": "frames",
            "note": "dead frames at the end",
        }
    )
    return rows
