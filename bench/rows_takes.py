"""Takes: how often the frame map is right on generated pairs, how often something is called mended where nothing was, and what lining up costs."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from itertools import combinations
from pathlib import Path

import numpy as np
from tests.make.films import make_film, panned
from tests.make.take_pairs import KINDS, make_pair, make_unmended, within

from bench.registry import Result, ratio, row
from bench.rows_media import decode, over_and_over
from shotcrit.clock import FrameClock
from shotcrit.errors import InputError
from shotcrit.measuring.follow import OldTake, follow_takes
from shotcrit.measuring.measure import Workbench
from shotcrit.measuring.request import MeasureRequest
from shotcrit.store.cache import open_cache
from shotcrit.takes.align import line_up
from shotcrit.takes.side import Side

FIRST_SEED = 9500
SEEDS = range(FIRST_SEED, FIRST_SEED + 5)
PAIRS = tuple((kind, seed) for kind in KINDS for seed in SEEDS)
LONG_FRAMES = 1440


@cache
def _right(sound: bool) -> tuple[float, str]:
    """Percent of the frames on which the map is right to 1 frame (with sound) or 2 (without), and the worst kind."""
    found: dict[str, list[float]] = {}
    for kind, seed in PAIRS:
        pair = make_pair(kind, seed)
        mapped = line_up(*pair.sides(sound=sound))
        found.setdefault(kind, []).append(float(within(pair, mapped.old_of, 1 if sound else 2).mean()))
    worst = min(found, key=lambda kind: float(np.mean(found[kind])))
    whole = 100 * float(np.mean([share for shares in found.values() for share in shares]))
    return whole, f"{len(PAIRS)} pairs of {len(KINDS)} kinds; worst {worst}, {100 * float(np.mean(found[worst])):.1f} %"


@row("takes", goal="at least 98 %")
def measure_map_with_sound(_work: Path) -> Result:
    """Frames of 60 generated pairs whose place in the other take is right to a frame, sound and picture"""
    share, note = _right(True)
    return Result(share, note, "%", share >= 98)


@row("takes", goal="at least 95 %")
def measure_map_by_picture(_work: Path) -> Result:
    """The same to two frames, by picture alone"""
    share, note = _right(False)
    return Result(share, note, "%", share >= 95)


@row("takes", goal="none")
def measure_false_mends(work: Path) -> Result:
    """Findings called moved in 60 pairs of movies in which nothing was mended: dead frames inside and at the end, on both takes"""
    told: list[str] = []
    followed = 0
    for kind, seed in PAIRS:
        folder = work / f"unmended-{kind.replace(' ', '-')}-{seed}"
        folder.mkdir(exist_ok=True)
        old, new = make_unmended(kind, seed).films(folder)
        answer = follow_takes(OldTake(MeasureRequest(old)), MeasureRequest(new), Workbench(open_cache(root=folder / "cache"), proxy=False))
        followed += len(answer.verdicts)
        told += [f"{kind} {seed}: {v.check} {v.kind}, {v.says}" for v in answer.verdicts if v.verdict == "moved"]
    return Result(len(told), f"{followed} findings followed" + "".join(f"; {one}" for one in told[:5]), "called moved", not told)


@row("takes", goal="none")
def measure_strangers(_work: Path) -> Result:
    """Pairs of takes of two different generated shots that are not refused"""
    takes = [make_pair("cut", seed).sides()[1] for seed in SEEDS]
    taken = sum(_taken(one, other) for one, other in combinations(takes, 2))
    return Result(taken, f"{len(SEEDS) * (len(SEEDS) - 1) // 2} pairs", "pairs", taken == 0)


def _taken(one: Side, other: Side) -> bool:
    try:
        line_up(one, other)
    except InputError:
        return False
    return True


@row("takes", goal="under 1")
def measure_cost(work: Path) -> Result:
    """Lining up 60 s against 60 s, their glances and sounds at hand, in decodings of both at 1920x1080"""
    film = _full_hd(work)
    pair = make_pair("cut", FIRST_SEED)
    old, new = (_longer(side) for side in pair.sides())
    against = ratio(lambda: line_up(old, new), lambda: (decode(film), decode(film)), rounds=1)
    return Result(against, f"{len(old)} frames against {len(new)}", "times", against < 1)


def _full_hd(work: Path) -> Path:
    """A minute of 1920x1080: two seconds of a panning texture over and over."""
    short = work / "hd-short.mkv"
    if not short.exists():
        make_film(short, panned(48, size=(1920, 1080)), gop=24, options={"bf": "0"})
    return over_and_over(short, work / "hd.mkv", 2, LONG_FRAMES // 48)


def _longer(side: Side) -> Side:
    """A take of LONG_FRAMES frames: its pictures over and over, each round a little brighter, so that no two are equal."""
    assert side.glances is not None
    assert side.wave is not None
    rounds = -(-LONG_FRAMES // len(side))
    glances = np.concatenate([side.glances * np.float32(1 + 0.02 * k) for k in range(rounds)])[:LONG_FRAMES]
    rng = np.random.default_rng(3)
    wave = np.concatenate([side.wave * np.float32(1) + rng.normal(0, 1e-3, len(side.wave)).astype(np.float32) for _ in range(rounds)])
    return replace(side, clock=FrameClock.steady(side.clock.rate, len(glances)), glances=glances, wave=wave)
