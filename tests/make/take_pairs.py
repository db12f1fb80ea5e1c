"""Two takes of one made-up shot, and which frame of the first each frame of the second truly is.

A shot is drawn anew for every moment of its story, so that what is slowed down has true pictures in between, and never twice the same pixels: a set with
texture, two puppets that sway, turn and talk, two cuts. A pair bends the story's time, and may change sound, grade, size, framing, rate, or put a slate in
front or a counter into a corner.

    pair = make_pair("slower", seed=3)
    pair.truth      # old frame of each new one, with parts; nan where it stands for nothing
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from fractions import Fraction
from pathlib import Path

import cv2
import numpy as np
import numpy.typing as npt

from shotcrit.clock import FrameClock
from shotcrit.readings.picture.glance import HIGH, WIDE
from shotcrit.takes.side import WAVE_RATE, Side
from tests.make.films import make_film

Floats = npt.NDArray[np.float32]
Doubles = npt.NDArray[np.float64]
RGB = npt.NDArray[np.uint8]

SIZE = 320, 180
LENGTH = 150
CUTS = 62, 108
RATE = Fraction(24)


@dataclass(frozen=True)
class Look:
    """How a take's pictures are finished."""

    gain: float = 1.0
    lift: float = 0.0
    gamma: float = 1.0
    size: tuple[int, int] = SIZE
    zoom: float = 1.0
    aside: tuple[float, float] = (0.0, 0.0)
    counter: bool = False
    quality: int = 80
    grain: float = 1.0


@dataclass(frozen=True)
class Plan:
    """One take. u : story frame of each picture, nan for a slate; sound : which voice speaks, None for nobody; mended : what the puppets do otherwise"""

    u: Doubles
    rate: Fraction = RATE
    sound: int | None = 0
    look: Look = field(default_factory=Look)
    seed: int = 0
    grain_seed: int = 0
    mended: tuple[tuple[int, int], ...] = ()


@dataclass(frozen=True)
class Pair:
    """old, new : the plans; truth : float64 [shape=(n_new,)] the old frame that each new one is, with parts, nan for none"""

    kind: str
    old: Plan
    new: Plan

    @property
    def truth(self) -> Doubles:
        frames = np.arange(len(self.old.u))
        inside = (self.new.u > self.old.u[0] - 0.5) & (self.new.u < self.old.u[-1] + 0.5)
        return np.where(inside, np.interp(self.new.u, self.old.u, frames), np.nan)

    def sides(self, *, sound: bool = True) -> tuple[Side, Side]:
        """Both takes as lining up wants them, without a file between."""
        return _side(self.old, sound, "old.mp4"), _side(self.new, sound, "new.mp4")

    def films(self, folder: Path) -> tuple[Path, Path]:
        """Both takes as movies."""
        return _film(self.old, folder / "old.mp4"), _film(self.new, folder / "new.mp4")


def within(pair: Pair, old_of: npt.NDArray[np.int64], frames: float) -> npt.NDArray[np.bool_]:
    """Of each new frame whether the map is right to so many frames; inserted ones must be told as such. Equal frames of the old count as one."""
    truth = pair.truth
    said = np.where(old_of < 0, np.nan, pair.old.u[np.maximum(old_of, 0)])
    meant = np.where(np.isnan(truth), np.nan, np.interp(truth, np.arange(len(pair.old.u)), pair.old.u))
    both_out = np.isnan(said) & np.isnan(meant)
    return np.asarray(both_out | (np.abs(np.nan_to_num(said, nan=-1e6) - np.nan_to_num(meant, nan=1e6)) <= frames + 1e-6))


# -- pairs -------------------------------------------------------------------------------------------------------------

PairMaker = Callable[[Plan, np.random.Generator], Plan]


def make_pair(kind: str, seed: int) -> Pair:
    """One of KINDS."""
    rng = np.random.default_rng([seed, *map(ord, kind)])
    old = Plan(np.arange(LENGTH, dtype=float), seed=seed)
    return Pair(kind, old, replace(KINDS[kind](old, rng), grain_seed=1 + seed))


def _shift(old: Plan, rng: np.random.Generator) -> Plan:
    head = int(rng.integers(5, 25))
    return replace(old, u=np.arange(head, LENGTH + head, dtype=float))


def _cut(old: Plan, rng: np.random.Generator) -> Plan:
    at, gone = int(rng.integers(20, 100)), int(rng.integers(8, 30))
    return replace(old, u=np.delete(old.u, np.s_[at : at + gone]))


def _hold(old: Plan, rng: np.random.Generator) -> Plan:
    at, more = int(rng.integers(15, 130)), int(rng.integers(6, 18))
    return replace(old, u=np.insert(old.u, at, [old.u[at]] * more))


def _retimed(old: Plan, rng: np.random.Generator, slower: bool) -> Plan:
    at, length, part = int(rng.integers(10, 60)), int(rng.integers(40, 80)), float(rng.uniform(0.05, 0.25))
    speed = 1 / (1 + part) if slower else 1 / (1 - part)
    middle = np.arange(at, at + length, speed)
    return replace(old, u=np.concatenate([old.u[:at], middle, np.arange(at + length, LENGTH)]))


def _slate(old: Plan, rng: np.random.Generator) -> Plan:
    return replace(old, u=np.concatenate([np.full(int(rng.integers(8, 30)), np.nan), old.u]))


def _rate(old: Plan, rng: np.random.Generator) -> Plan:
    rate = Fraction([25, 30, 48, 12][int(rng.integers(4))])
    u = np.arange(0, LENGTH, float(RATE / rate))
    return replace(old, u=np.floor(u + 1e-9), rate=rate)


def _look(**limits: object) -> PairMaker:
    def change(old: Plan, rng: np.random.Generator) -> Plan:
        values = {name: make(rng) if callable(make) else make for name, make in limits.items()}
        return replace(_some_edit(old, rng), look=replace(old.look, **values))  # type: ignore[arg-type]

    return change


def _some_edit(old: Plan, rng: np.random.Generator) -> Plan:
    return (_shift, _cut, _hold)[int(rng.integers(3))](old, rng)


def _other_sound(old: Plan, rng: np.random.Generator) -> Plan:
    return replace(_some_edit(old, rng), sound=7)


KINDS: dict[str, PairMaker] = {
    "shift": _shift,
    "cut": _cut,
    "hold": _hold,
    "slower": lambda old, rng: _retimed(old, rng, True),
    "faster": lambda old, rng: _retimed(old, rng, False),
    "other sound": _other_sound,
    "size": _look(size=lambda rng: (int(rng.integers(200, 640)) // 2 * 2, 180)),
    "grade": _look(gain=lambda rng: rng.uniform(0.75, 1.2), lift=lambda rng: rng.uniform(-8, 14), gamma=lambda rng: rng.uniform(0.85, 1.2)),
    "rate": _rate,
    "slate": _slate,
    "framing": _look(zoom=lambda rng: rng.uniform(1.03, 1.15), aside=lambda rng: tuple(rng.uniform(-6, 6, 2))),
    "counter": _look(counter=True, quality=55),
}
SIXTY = tuple((kind, seed) for kind in KINDS for seed in range(5))


# -- the shot ----------------------------------------------------------------------------------------------------------


def picture(plan: Plan, index: int) -> RGB:
    """uint8 [shape=(h, w, 3)]: picture `index` of a take, finished."""
    u = float(plan.u[index])
    base = _slated(index) if np.isnan(u) else _drawn(plan, u)
    return _finished(base, plan, index)


def _drawn(plan: Plan, u: float) -> Floats:
    shot = sum(u >= cut for cut in CUTS)
    rng = np.random.default_rng([plan.seed, shot])
    canvas = _set(plan.seed, shot, u)
    for who in range(2):
        _puppet(canvas, rng, u, who, any(first <= u <= last for first, last in plan.mended) and who == 0)
    return canvas


_SETS: dict[tuple[int, int], Floats] = {}


def _set(seed: int, shot: int, u: float) -> Floats:
    if (seed, shot) not in _SETS:
        rng = np.random.default_rng([seed, shot, 5])
        base = rng.uniform(60, 150, 3)
        noise = sum(cv2.GaussianBlur(rng.normal(size=(260, 420, 3)).astype(np.float32), (0, 0), s) * s * 24 for s in (2, 6, 20, 45))
        if len(_SETS) > 40:
            _SETS.clear()
        _SETS[seed, shot] = np.clip(base + noise, 8, 235).astype(np.float32)
    drift = 0.25 * u if shot == 1 else 0.0
    moved = np.float32([[1, 0, -40 - drift], [0, 1, -30]])
    return np.asarray(cv2.warpAffine(_SETS[seed, shot], moved, SIZE, flags=cv2.INTER_LINEAR, borderMode=cv2.BORDER_REFLECT))


def _puppet(canvas: Floats, rng: np.random.Generator, u: float, who: int, mended: bool) -> None:
    wave = [
        a * np.sin(2 * np.pi * f * u / 24 + p)
        for a, f, p in zip(rng.uniform(0.4, 1, 6), rng.uniform(0.15, 0.9, 6), rng.uniform(0, 6, 6), strict=True)
    ]
    colour, cloth = rng.uniform(120, 220, 3), rng.uniform(30, 120, 3)
    x = SIZE[0] * (rng.uniform(0.15, 0.4) + 0.45 * who) + 8 * wave[0] + 3 * wave[1]
    y = SIZE[1] * rng.uniform(0.25, 0.6) + 4 * wave[2]
    if mended:
        y -= 6
    head = (x + 3 * wave[3], y)
    _blob(canvas, (x, y + 70), (34, 52), 4 * wave[4], cloth)
    _blob(canvas, head, (21, 27), 9 * wave[5], colour)
    _blob(canvas, (head[0] - 7, head[1] - 5), (3, 3), 0, np.full(3, 20.0))
    _blob(canvas, (head[0] + 7, head[1] - 5), (3, 3), 0, np.full(3, 20.0))
    talk = 0.5 + 0.5 * np.sin(2 * np.pi * 3.1 * u / 24 + who)
    _blob(canvas, (head[0], head[1] + 12), (8, 1.5 + 5 * talk), 0, np.array([90.0, 30, 40]))
    reach = 20 * wave[1] + 12 * wave[3]
    _blob(canvas, (x + (28 if who == 0 else -28), y + 55 + reach), (9, 9), 0, colour)


def _blob(canvas: Floats, at: tuple[float, float], size: tuple[float, float], turn: float, colour: Doubles) -> None:
    shift = 6
    scale = 1 << shift
    centre = round(at[0] * scale), round(at[1] * scale)
    axes = max(1, round(size[0] * scale)), max(1, round(size[1] * scale))
    cv2.ellipse(canvas, centre, axes, turn, 0, 360, colour.tolist(), -1, cv2.LINE_8, shift)


def _slated(index: int) -> Floats:
    canvas = np.full((SIZE[1], SIZE[0], 3), 28, np.uint8)
    cv2.putText(canvas, "LANTERN 040", (40, 80), cv2.FONT_HERSHEY_SIMPLEX, 1.0, (220, 220, 220), 2, cv2.LINE_AA)
    cv2.putText(canvas, f"-{index:02d}", (40, 130), cv2.FONT_HERSHEY_SIMPLEX, 1.0, (220, 220, 220), 2, cv2.LINE_AA)
    return canvas.astype(np.float32)


def _finished(canvas: Floats, plan: Plan, index: int) -> RGB:
    look = plan.look
    middle = np.array([SIZE[0] / 2, SIZE[1] / 2])
    offset = middle - look.zoom * middle + np.array(look.aside)
    framed = np.float32([[look.zoom, 0, offset[0]], [0, look.zoom, offset[1]]])
    out = cv2.warpAffine(canvas, framed, SIZE, flags=cv2.INTER_LINEAR, borderMode=cv2.BORDER_REFLECT) if look.zoom != 1 else canvas
    out = cv2.resize(out, look.size, interpolation=cv2.INTER_AREA if look.size[0] < SIZE[0] else cv2.INTER_LINEAR)
    out = 255 * np.clip(out / 255 * look.gain + look.lift / 255, 0, 1) ** look.gamma
    rng = np.random.default_rng([plan.seed, plan.grain_seed, index])
    out = out + look.grain * rng.standard_normal(out.shape[:2])[..., None]
    whole = np.clip(np.rint(out), 0, 255).astype(np.uint8)
    if look.counter:
        high = whole.shape[0]
        cv2.rectangle(whole, (0, high - 22), (90, high), (10, 10, 10), -1)
        cv2.putText(whole, f"{1001 + index}", (6, high - 5), cv2.FONT_HERSHEY_SIMPLEX, 0.6, (240, 240, 240), 1, cv2.LINE_AA)
    _, packed = cv2.imencode(".jpg", whole, [cv2.IMWRITE_JPEG_QUALITY, look.quality])
    return np.asarray(cv2.imdecode(packed, cv2.IMREAD_COLOR), np.uint8)


# -- the sound ---------------------------------------------------------------------------------------------------------


def voice(plan: Plan, rate: int = WAVE_RATE) -> Floats | None:
    """float32 [shape=(samples,)]: syllables of changing pitch and colour with pauses, bent in time as the pictures are; a hold is silent."""
    if plan.sound is None:
        return None
    times = np.arange(round(len(plan.u) / float(plan.rate) * rate)) / rate
    at = times * float(plan.rate)
    frame = np.minimum(at.astype(int), len(plan.u) - 1)
    here = plan.u[frame]
    following = plan.u[np.minimum(frame + 1, len(plan.u) - 1)]
    pace = np.where(np.isnan(following - here), 0, np.clip(following - here, 0, 2))
    usual = float(RATE / plan.rate)
    pace = np.where((plan.rate != RATE), usual, np.where(pace > 1.5, 1, pace))
    story_s = (np.where(plan.rate != RATE, at * usual, here + (at - frame) * pace)) / float(RATE)
    out = np.where(np.isnan(story_s) | (pace == 0), 0, _spoken(np.nan_to_num(story_s), plan.seed, plan.sound))
    rng = np.random.default_rng([plan.seed, 77, plan.grain_seed])
    return (0.3 * out + 0.0005 * rng.standard_normal(len(out))).astype(np.float32)


def _spoken(story_s: Doubles, seed: int, who: int) -> Doubles:
    rng = np.random.default_rng([seed, who, 3])
    out, at = np.zeros_like(story_s), 0.35
    while at < LENGTH / 24 + 2:
        length = rng.uniform(0.09, 0.24)
        pitch, colour, bend = rng.uniform(100, 240), rng.uniform(400, 2600), rng.uniform(-0.3, 0.3)
        inside = (story_s >= at) & (story_s < at + length)
        t = story_s[inside] - at
        shape = np.sin(np.pi * t / length) ** 0.7
        phase = 2 * np.pi * pitch * (t + bend * t**2 / (2 * length))
        turns = rng.uniform(0, 6.28, 13)
        out[inside] = shape * sum(np.sin(k * phase + turns[k - 1]) * np.exp(-(((k * pitch - colour) / 700) ** 2)) for k in range(1, 14))
        at += length + (rng.uniform(0.35, 0.9) if rng.random() < 0.2 else rng.uniform(0.01, 0.06))
    return out


def _side(plan: Plan, sound: bool, name: str) -> Side:
    glances = np.stack([_glance(picture(plan, k)) for k in range(len(plan.u))])
    return Side(FrameClock.steady(plan.rate, len(plan.u)), glances, voice(plan) if sound else None, 0.0, name)


def _glance(shown: RGB) -> Floats:
    grey = cv2.cvtColor(shown, cv2.COLOR_RGB2GRAY).astype(np.float32)
    return np.asarray(cv2.resize(grey, (WIDE, HIGH), interpolation=cv2.INTER_AREA), np.float32)


def _film(plan: Plan, path: Path) -> Path:
    sound = voice(plan, 48000)
    how: dict[str, object] = {"rate": plan.rate}
    if sound is not None:
        how["sound"] = sound[:, None]
    return make_film(path, (picture(plan, k) for k in range(len(plan.u))), **how)


# -- takes in which nothing is mended ----------------------------------------------------------------------------------

DEAD = range(84, 92)
"""Dead frames inside of the faulty take: each shows 83 again."""
DEAD_TAIL = 6


def make_unmended(kind: str, seed: int) -> Pair:
    """One of KINDS of a take that has dead frames inside and at its end, and has them still on the next take: nothing is mended, whatever else is done."""
    shown = np.arange(LENGTH, dtype=float)
    shown[DEAD.start : DEAD.stop] = DEAD.start - 1
    shown[-DEAD_TAIL:] = shown[-DEAD_TAIL - 1]
    for attempt in range(100):
        pair = make_pair(kind, seed + 1000 * attempt)
        at = pair.new.u
        kept = at[np.isnan(at) | (at <= LENGTH - 1)]
        if _spares_the_dead(kept, pair.new.rate == RATE):
            u = np.where(np.isnan(kept), np.nan, np.interp(np.nan_to_num(kept), np.arange(LENGTH), shown))
            return Pair(kind, replace(pair.old, u=shown), replace(pair.new, u=u))
    raise AssertionError(f"no {kind} spares the dead frames")


def _spares_the_dead(at: Doubles, same_rate: bool) -> bool:
    """Whether the dead frames stay as they are: each there once, with the frame before and after."""
    if not same_rate:
        return True
    around = (*range(DEAD.start - 1, DEAD.stop + 1), *range(LENGTH - DEAD_TAIL - 1, LENGTH))
    return all(int((at == frame).sum()) == 1 for frame in around)
