"""What the checks of movement let pass: one mark of which the scene knows all, seen by a standing camera at a known scale."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import numpy as np

from shotcrit.clock import FrameClock
from shotcrit.readings.acting import Acting, MarkTrack
from shotcrit.readings.bundle import PictureReadings, Readings, Series, SoundReadings
from shotcrit.readings.cast import parse_cast
from shotcrit.readings.events import Accent, Word
from tests.make.breathers import breather
from tests.make.limit_cases.case import Case
from tests.make.limit_cases.looks import passing
from tests.make.thrown import beside_ada, jumping, thrown
from tests.make.two_hander import HEIGHT, WIDTH, movie_info

FRAMES = 72
DIP = 0.1
"""Of its speed, that a stroke of sixteen frames may lose in its middle (by the slow integral of tests/reference/test_smoothness.py)."""


def seen(**ways: np.ndarray) -> Readings:
    """Ada's marks, each by its way in px of a picture WIDTH wide [shape=(n, 2)], followed to a hundredth of a px."""
    n = len(next(iter(ways.values())))
    marks = {
        name: MarkTrack("Ada", name, (way / (WIDTH, HEIGHT)).astype(np.float32), np.full(n, 0.005, np.float32))
        for name, way in ways.items()
    }
    return Readings(
        movie=movie_info(n), clock=FrameClock.steady(Fraction(24), n), cast=parse_cast({"characters": [{"name": "Ada"}]}, name="c"),
        acting=(Acting("Ada", 2, marks),),
    )  # fmt: skip


def straight(steps: np.ndarray, start: float = 400.0) -> np.ndarray:
    """A way to screen right by these steps, px a frame."""
    x = start + np.concatenate([[0.0], np.cumsum(steps)])
    return np.stack([x, np.full(len(x), 500.0)], axis=1)


def drifting(speed: float = 3.0) -> np.ndarray:
    return straight(np.full(FRAMES - 1, speed))


def popped(share: float) -> Readings:
    """One frame lies so far below an even way, of the picture's width."""
    way = drifting()
    way[30, 1] += share * WIDTH
    return seen(hand_left=way)


def popped_of_two(ratio: float) -> Readings:
    """A frame 20 px off, on a way that shakes by so much of what the excursion leaves that it is but so many times clearer than all else."""
    way = drifting()
    way[30, 1] += 20
    # What an excursion of 1 leaves to the other explanations, over the rest of a shake to and fro of 1 on seven frames.
    way[:, 1] += np.where(np.arange(FRAMES) % 2 == 0, 1, -1) * CLEAR_AT_ONE / max(ratio, 1e-6)
    return seen(hand_left=way)


CLEAR_AT_ONE = 4.39
"""px of shake at which an excursion of 20 px is as clear as anything else (measured with the check at its own limits, once)."""


def stopped(left: float) -> Readings:
    """A hand that keeps so much of its 12 px a frame for two frames."""
    steps = np.full(FRAMES - 1, 12.0)
    steps[30:32] = 12 * left
    return seen(hand_left=straight(steps))


def stopped_at(speed: float) -> Readings:
    """A full stop of two frames in a way of so much of the width a frame."""
    steps = np.full(FRAMES - 1, speed * WIDTH)
    steps[30:32] = 0
    return seen(hand_left=straight(steps))


def cornered(keeps: float) -> Readings:
    """A right angle and ten degrees, on whose two sides the hand has so much of the speed that it has around it."""
    steps = np.full(FRAMES - 1, 12.0)
    steps[29], steps[30] = 12 * keeps, 12 * keeps
    angle = np.where(np.arange(FRAMES - 1) < 30, 0.0, np.radians(100))
    way = np.cumsum(steps[:, None] * np.stack([np.cos(angle), np.sin(angle)], axis=1), axis=0)
    return seen(hand_left=300 + np.vstack([[0, 0], way]))


def uneased(share: float) -> Readings:
    """A start from rest, the first step with so much of a full speed of 20 px a frame."""
    steps = np.zeros(FRAMES - 1)
    steps[30:50] = 20.0
    steps[30] = 20 * share
    steps[50:58] = np.linspace(18, 0, 8)
    return seen(hand_left=straight(steps))


def uneased_at(speed: float) -> Readings:
    """A start at once to so much of the width a frame."""
    steps = np.zeros(FRAMES - 1)
    steps[30:50] = speed * WIDTH
    steps[50:60] = np.linspace(1, 0, 10) * speed * WIDTH
    return seen(hand_left=straight(steps))


def shaking(share: float) -> Readings:
    """A hand that rests and lies to and fro from frame to frame, so far each way."""
    way = np.stack([np.full(FRAMES, 500.0), 500 + share * WIDTH * np.where(np.arange(FRAMES) % 2 == 0, 1, -1)], axis=1)
    return seen(hand_left=way)


def bobbing(share: float, felt: float = 0.0, even: float = 1.0) -> Readings:
    """A knee that bobs three times a second by so much of the width; hips take up `felt` of it; all but `even` is thrice as fast."""
    t = np.arange(FRAMES) / 24
    wave = np.sqrt(even) * np.sin(2 * np.pi * 3 * t) + np.sqrt(1 - even) * np.sin(2 * np.pi * 9 * t)
    ways = {}
    for name, part in {"knee_left": 1.0, "hips": felt, "chest": 0.0, "shoulder_left": 0.0}.items():
        ways[name] = np.stack([np.full(FRAMES, 500.0), 500 + part * share * WIDTH / 2 * wave], axis=1)
    return seen(**ways)


def speaking(late: float, *, accents: int = 4, speed: float = 0.004, strongest: float = 1.0, every: int = 22) -> Readings:
    """Ada's head nods on each accent of her voice, so many frames late, its quickest moment so much of the width a frame; one more accent has no nod."""
    frames = every * (accents + 2)
    moments = [every * (k + 1) for k in range(accents)]
    t = np.arange(frames, dtype=float)
    nod = sum(_minimum_jerk((t - m - late + 4) / 8) for m in moments)
    quick = np.convolve(np.diff(nod), [0.25, 0.5, 0.25])
    nod = nod * speed * WIDTH / quick.max()
    still = np.stack([np.full(frames, 500.0), np.full(frames, 500.0)], axis=1)
    words = [Word("out", "Ada", m / 24 - 0.1, m / 24 + 0.1) for m in moments]
    words.append(Word("burn", "Ada", (frames - 16) / 24, (frames - 8) / 24))
    said = [Accent(m / 24, 1.0, k + 2, k) for k, m in enumerate(moments)] + [Accent((frames - 12) / 24, strongest, 1, accents)]
    readings = seen(nose=still + np.stack([0 * nod, nod], axis=1), chest=still)
    return replace(readings, sound=SoundReadings(words=tuple(words), accents=tuple(said)))


def _minimum_jerk(x: np.ndarray) -> np.ndarray:
    x = np.clip(x, 0, 1)
    return 10 * x**3 - 15 * x**4 + 6 * x**5


def twins(share: float, *, lasts: int = 40, speed: float = 0.01) -> Readings:
    """The right hand does `share` of what the left one does, mirrored, for so many frames; then it goes against it."""
    t = np.arange(60) / 24
    step = speed * WIDTH * np.stack([np.cos(5 * t), np.sin(5 * t)], axis=1)
    smaller = (1 - np.sqrt(1 - share**2)) / share if share else 0.0
    other = smaller * step * (-1, 1)
    other[10 + lasts :] *= -1
    other[:10] *= -1
    return seen(hand_left=700 + np.cumsum(step, axis=0), hand_right=500 + np.cumsum(other, axis=0), chest=np.full((60, 2), 600.0))


def trailing(alike: float) -> Readings:
    """A lamp by its handle in Ada's hand, and its body that does `alike` of what the handle does, three frames later; the rest is its own."""
    t = np.arange(96) / 24
    handle = 60 * np.sin(2 * np.pi * 0.8 * t)
    body = 60 * (alike * np.sin(2 * np.pi * 0.8 * (t - 3 / 24)) + np.sqrt(1 - alike**2) * np.sin(2 * np.pi * 1.6 * t + 1))
    both = seen(**{name: np.stack([700 + way, np.full(96, 500.0)], axis=1) for name, way in (("handle", handle), ("body", body))})
    (ada,) = both.acting
    lamp = replace(ada, who="lamp", marks={name: replace(track, who="lamp") for name, track in ada.marks.items()})
    contact = {"a": "Ada.hand_left", "b": "lamp.handle", "first": 1, "last": 96}
    props = [{"name": "lamp", "marks": {"handle": [], "body": []}}]
    cast = parse_cast({"characters": [{"name": "Ada", "marks": {"hand_left": []}}], "props": props, "contacts": [contact]}, name="c")
    return replace(both, acting=(lamp,), cast=cast)


def arching(dip: float) -> Readings:
    """A hand along half a circle in sixteen frames, by minimum jerk, whose speed dips by so much in the middle."""
    x = np.linspace(0, 1, 17)
    speed = 30 * x**2 * (1 - x) ** 2 * (1 - dip * np.exp(-(((x - 0.5) / 0.12) ** 2)))
    share = np.concatenate([[0], np.cumsum((speed[1:] + speed[:-1]) / 2)])
    angle = np.pi * np.concatenate([np.zeros(20), share / share[-1], np.ones(35)])
    return seen(hand_left=np.stack([700 - 200 * np.cos(angle), 600 - 200 * np.sin(angle)], axis=1))


def drifting_out(speed: float) -> Readings:
    """Ada moves for two seconds and a half, and ends in a hold that drifts by so much of the width a frame."""
    steps = np.concatenate([np.full(59, 4.0), np.full(24, speed * WIDTH)])
    way = straight(steps)
    picture = PictureReadings(np.zeros(len(way), bool), Series("movement", "px", np.ones(len(way), np.float32)), (), 0.5)
    return replace(seen(chest=way), picture=picture)


CASES = {
    # Its own error is a 200th px, doubled, and counts three times.
    "arc.pop": Case(popped, "pop", 0.0, 0.02, at=0.0015, within=0.0001),
    "arc.must_share": Case(popped, "pop", 0.0, 0.03, at=0.006, within=0.0001, weight="must"),
    "arc.clear": Case(popped_of_two, "pop", 0.5, 20.0, at=2.0, within=0.3),
    "arc.hitch": Case(stopped, "hitch", 0.9, 0.0, at=0.15, within=0.005),
    "arc.speed": Case(stopped_at, "hitch", 0.0, 0.02, at=0.003, within=0.0002),
    "arc.keeps": Case(cornered, "kink", 0.4, 1.0, at=0.8, within=0.01),
    "arc.ease": Case(uneased, "no_ease", 0.1, 1.0, at=0.6, within=0.005),
    "arc.ease_speed": Case(uneased_at, "no_ease", 0.0, 0.02, at=0.003, within=0.0002),
    # To and fro, 1.5 times the shake lies off a fit over seven frames.
    "arc.jitter": Case(shaking, "jitter", 0.0, 0.01, at=0.0005, within=0.0001),
    "echo.bob": Case(bobbing, "alone", 0.0, 0.03, at=0.004, within=0.0002),
    "echo.felt": Case(lambda felt: bobbing(0.008, felt), "alone", 0.4, 0.0, at=0.1, within=0.005),
    "echo.even": Case(lambda even: bobbing(0.02, 0.0, even), "alone", 0.4, 1.0, at=0.8, within=0.03),
    "gravity.thing": Case(lambda g: beside_ada(thrown(g), level=3), "floats", 9.8, 4.0, at=0.85 * 9.80665, within=0.05),
    "gravity.body": Case(lambda g: jumping(g), "floats", 9.8, 3.0, at=0.65 * 9.80665, within=0.1),
    # Somebody taller than is taken makes metres too small; a height is known to 6 %, and two of that are let pass: 1.7 / (0.85 / 1.12).
    "gravity.stature": Case(
        lambda tall: beside_ada(thrown(9.80665), level=2, noise_px=0.01, tall=tall), "floats", 1.7, 3.2, at=2.24, within=0.12
    ),
    # Four nods on whole frames: a median's error is 0.6 frames, of which two are let pass.
    "accent.late": Case(speaking, "late", 0.0, 10.0, at=3 + 2 * 1.25 / 2, within=0.6),
    "accent.accents": Case(lambda n: speaking(7.0, accents=round(n)), "late", 2, 6, at=3, whole=True),
    "accent.strong": Case(lambda times: speaking(0.0, strongest=times), "missing", 0.5, 6.0, at=2.0, within=0.05),
    "accent.speed": Case(lambda share: speaking(8.0, speed=share), "late", 0.0, 0.01, at=0.0008, within=0.00005),
    # Of two movements along one way, one k times the other, 2k / (1 + k^2) is the same.
    "twinning.alike": Case(twins, "hands", 0.5, 1.0, at=0.98, within=0.003),
    "twinning.lasts": Case(lambda frames: twins(1.0, lasts=round(frames)), "hands", 4, 40, at=16, whole=True),
    "twinning.speed": Case(lambda share: twins(1.0, speed=share), "hands", 0.0, 0.02, at=0.002, within=0.0001),
    "keep.meet_deg": Case(passing, "eyeline", 6.0, 0.0, at=2.0, within=0.1),
    # Of this breather's lift, which is no minimum jerk, a seventh is taken for sway.
    "keep.lift": Case(lambda share: breather(3, share, level=3), "breath", 0.0, 0.05, at=0.015 * 7 / 6, within=0.001),
    "keep.alike": Case(trailing, "overlap", 0.3, 1.0, at=0.85, within=0.03),
    "keep.smooth": Case(arching, "arc", 0.9, 0.0, at=DIP, within=0.05),
    "keep.alive": Case(drifting_out, "alive", 0.0, 0.0005, at=0.00015, within=0.00001),
}
