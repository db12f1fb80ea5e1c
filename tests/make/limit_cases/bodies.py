"""What breath, contact and lines let pass: bodies and held things of which the scene knows all, marks without noise, a voice with written times."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import numpy as np

from shotcrit.clock import FrameClock
from shotcrit.readings.acting import Acting, Head, MarkTrack, Mouth
from shotcrit.readings.bundle import Readings, SoundReadings
from shotcrit.readings.cast import parse_cast
from shotcrit.readings.events import Line, Tremor, Word
from tests.make.breathers import BREATH, FRAMES, breather
from tests.make.holders import FRAMES as HELD
from tests.make.holders import PX_A_METRE, held, slide_over
from tests.make.limit_cases.case import Case
from tests.make.two_hander import movie_info

RATE = 24
LONG = 24 * 30
HEAD_PX = 200.0


def lifted(share: float) -> Readings:
    """A breath with that lift, of the head's height; seen without noise."""
    return breather(3, share, level=3)


def mouthed(opening: float) -> Readings:
    """No lift, and a mouth that opens so far on the way in."""
    return _with_mouth(breather(3, 0.0, level=3), _opened(opening))


def late(frames: float) -> Readings:
    return breather(4, 0.03, level=3, late=frames)


def smacked(stir: float) -> Readings:
    """A mouth noise, and lips that open so far."""
    noise = replace(BREATH, kind="smack", end_s=1.66, who="Ada")
    return _with_mouth(breather(7, 0.02, breath=noise), _opened(stir))


def _opened(opening: float) -> np.ndarray:
    """A mouth that opens from 1.55 s to 2.05 s and shuts again."""
    t = np.arange(FRAMES) / RATE
    return opening * np.clip(np.sin(np.pi * np.clip((t - 1.5) / 0.6, 0, 1)), 0, 1)


def _with_mouth(readings: Readings, opening: np.ndarray) -> Readings:
    (ada,) = readings.acting
    told, none = np.ones(FRAMES, np.float32), np.zeros(FRAMES, np.float32)
    return replace(readings, acting=(replace(ada, mouth=Mouth(opening.astype(np.float32), told, none, none, none)),))


def body(moves: dict[str, np.ndarray], sound: SoundReadings, frames: int = LONG) -> Readings:
    """Ada with marks that stand but for what `moves` adds upwards, px of a head of 200 px."""
    marks = {}
    for name, below in (("chest", 240.0), ("shoulder_left", 200.0), ("shoulder_right", 200.0), ("hips", 640.0)):
        y = 300 + below - moves.get(name, np.zeros(frames))
        marks[name] = MarkTrack(
            "Ada", name, np.stack([np.full(frames, 0.5), y / 1080], axis=1).astype(np.float32), np.zeros(frames, np.float32)
        )
    head = Head(np.zeros((frames, 3), np.float32), np.full(frames, HEAD_PX, np.float32))
    return Readings(
        movie=movie_info(frames), clock=FrameClock.steady(Fraction(RATE), frames), cast=parse_cast({"characters": [{"name": "Ada"}]}, name="c"),
        sound=sound, acting=(Acting("Ada", 2, marks, head=head),),
    )  # fmt: skip


def talk(first_s: float, stop_s: float) -> tuple[Word, ...]:
    """One word after the other, without a pause."""
    return tuple(Word("out", "Ada", a, min(a + 0.5, stop_s)) for a in np.arange(first_s, stop_s, 0.5))


def talking(seconds: float) -> Readings:
    """A chest that stands while she talks so long."""
    return body({}, SoundReadings(words=talk(1.0, 1.0 + seconds)))


def stirring(share: float) -> Readings:
    """Six seconds of talk, over which chest and shoulders go up by so much of the head's height."""
    up = share * HEAD_PX * np.clip((np.arange(LONG) / RATE - 1) / 6, 0, 1)
    return body(dict.fromkeys(("chest", "shoulder_left", "shoulder_right"), up), SoundReadings(words=talk(1.0, 7.0)))


def shaking(share: float) -> Readings:
    """A voice that shakes six times a second, and a chest that shakes with it by so much of the head's height."""
    shake = share * HEAD_PX * np.sin(2 * np.pi * 6 * np.arange(LONG) / RATE)
    return body({"chest": shake}, SoundReadings(words=talk(0.5, 3.0), tremors=(Tremor(1.0, 2.5, 6.0, 0.2, "level"),)))


def breathless(seconds: float) -> Readings:
    return body({}, SoundReadings(words=talk(1.0, 1.0 + seconds)))


def paused(seconds: float) -> Readings:
    """Twice eight seconds of talk, with so long a pause between: with too short a one they are one run."""
    return body({}, SoundReadings(words=(*talk(1.0, 9.0), *talk(9.0 + seconds, 17.0 + seconds))))


def slid_mm(mm: float) -> Readings:
    """A thing in a hand that slides so far, stays half a second, and goes back."""
    way = (mm / 1000, 0.0, 0.0)
    return held(3, level=3, slide=slide_over(20, 24, way) - slide_over(32, 36, way))


def slid_px(px: float, error: float = 0.0) -> Readings:
    """The same in pictures, at once: a planted hand, marks whose error says `error` and who have none."""
    way = (px / PX_A_METRE, 0.0, 0.0)
    readings = held(3, level=2, slide=slide_over(20, 21, way) - slide_over(32, 33, way), noise_px=0.0, planted=True)
    acting = []
    for who in readings.acting:
        marks = {name: replace(track, error_px=np.full(HELD, error, np.float32)) for name, track in who.marks.items()}
        acting.append(replace(who, marks=marks))
    return replace(readings, acting=tuple(acting))


def moved_before_cut(frames: float) -> Readings:
    """A thing that lies 10 mm elsewhere over the last frames before a cut, so many of them. The very last are held against those before them."""
    where = np.zeros((HELD, 3))
    where[40 - round(frames) : 40, 0] = 0.010
    return held(3, level=3, slide=where, cut=40)


def sure_line(certainty: float) -> Readings:
    line = Line("We hold on.", "Ada", True, certainty, 1.0, 2.0)
    return body({}, SoundReadings(lines=(line,), words=(Word("hold", "Ada", 1.0, 2.0),)))


CASES = {
    # A breath counts as not acted under half of the lift that is asked.
    "breath.lift": Case(lifted, "missing", 0.02, 0.0, at=0.0025, within=0.0008),
    "breath.mouth": Case(mouthed, "missing", 0.3, 0.0, at=0.04, within=0.01),
    "breath.timing": Case(late, "timing", 0.0, 8.0, at=3.0, within=1.0),
    "breath.smack": Case(smacked, "smack", 0.3, 0.0, at=0.02, within=0.002),
    "breath.still_line": Case(talking, "still_chest", 1.0, 9.0, at=3.5, within=0.1),
    "breath.still_lift": Case(stirring, "still_chest", 0.05, 0.0, at=0.002, within=0.0005),
    "breath.tremor": Case(shaking, "tremor", 0.02, 0.0, at=0.001, within=0.0002),
    "breath.longest_run": Case(breathless, "unheard", 3.0, 25.0, at=12.0, within=0.1),
    "breath.rest": Case(paused, "unheard", 4.0, 0.2, at=1.5, within=0.05),
    "contact.slide_mm": Case(slid_mm, "slide", 0.5, 40.0, at=3.0, within=0.1),
    "contact.must_mm": Case(slid_mm, "slide", 0.5, 60.0, at=21.0, within=0.2, weight="must"),
    "contact.slide_px": Case(slid_px, "slide", 0.1, 30.0, at=1.0, within=0.1),
    "contact.must_share": Case(slid_px, "slide", 0.1, 60.0, at=0.006 * 1920, within=0.2, weight="must"),
    # Two marks of 0.3 px each: 0.42 px, three times over the limit of 1 px.
    "contact.errors": Case(lambda px: slid_px(px, 0.3), "slide", 0.1, 30.0, at=1 + 3 * 0.3 * 2**0.5, within=0.3),
    # The last 4 are held against the 12 before them, which lie elsewhere themselves once more than half of them do.
    "contact.cut_frames": Case(moved_before_cut, "before_cut", 19, 1, at=4 + 12 // 2, whole=True),
    "lines.certainty": Case(sure_line, "doubtful", 0.9, 0.05, at=0.35, within=0.005),
}
