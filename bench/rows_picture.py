"""Stillness and cuts: what our reading costs and finds, beside PySceneDetect and libavfilter's freezedetect, on the same films in the same run."""

from __future__ import annotations

import re
import subprocess
from collections.abc import Iterator
from fractions import Fraction
from pathlib import Path

import numpy as np
from scenedetect import AdaptiveDetector, detect
from tests.make.films import make_film
from tests.make.picture_rows import read_film
from tests.make.posed import Frame, Grain, acting, drawn, drifting, painted, with_grain

from bench.registry import Result, ratio, row

FRAMES = 132
HD = (1920, 1080)
DEAD = [(20, 25), (43, 49)]
COPIES = [
    (painter, crf, grain) for painter in (painted, drawn) for crf in (0, 18, 30) for grain in (Grain(), Grain(4), Grain(4, reseed=True))
]


def film(work: Path) -> Path:
    """Two shots of 1920 x 1080 with a hold at the end of each."""
    path = work / "picture.mkv"
    if not path.exists():
        make_film(path, _two_shots(), rate=Fraction(24))
    return path


def _two_shots() -> Iterator[Frame]:
    half = acting(FRAMES // 2, dead=[(FRAMES // 2 - 7, FRAMES // 2 - 1)])
    yield from drawn(half, HD)
    yield from painted(half[: FRAMES // 4], HD)


def decode(path: Path) -> None:
    """Every picture, by ffmpeg, thrown away."""
    subprocess.run(["ffmpeg", "-v", "error", "-nostdin", "-i", str(path), "-f", "null", "-"], check=True)


def freezes(path: Path) -> list[int]:
    """Dead frames by freezedetect at its default noise, two frames and longer."""
    command = ["ffmpeg", "-nostdin", "-i", str(path), "-vf", "freezedetect=n=0.001:d=0.08", "-f", "null", "-"]
    said = subprocess.run(command, check=True, capture_output=True, text=True).stderr
    starts = [round(float(t) * 24) for t in re.findall(r"freeze_start: ([\d.]+)", said)]
    ends = [round(float(t) * 24) for t in re.findall(r"freeze_end: ([\d.]+)", said)]
    spans = zip(starts, [*ends, 10**6][: len(starts)], strict=True)
    return [i for start, end in spans for i in range(start + 1, min(end, 50))]


@row("picture")
def against_decoding(work: Path) -> Result:
    """Our picture readings (stillness, cadence, cuts, flashes, regions) and no proxy, against ffmpeg decoding alone."""
    path = film(work)
    return Result(ratio(lambda: read_film(path), lambda: decode(path)), f"{FRAMES // 4 + FRAMES // 2} frames 1920x1080 H.264")


@row("picture")
def against_scenedetect(work: Path) -> Result:
    """Our picture readings, against PySceneDetect's AdaptiveDetector alone, which reads cuts only."""
    path = film(work)
    value = ratio(lambda: read_film(path), lambda: detect(str(path), AdaptiveDetector()))
    found = [scene[0].frame_num for scene in detect(str(path), AdaptiveDetector())][1:]
    ours = read_film(path).picture
    return Result(value, f"cuts: ours {list(ours.cuts) if ours else None}, PySceneDetect {found}")


@row("picture")
def against_freezedetect(work: Path) -> Result:
    """Our picture readings, against ffmpeg with freezedetect alone, which reads holds only."""
    path = film(work)
    return Result(ratio(lambda: read_film(path), lambda: freezes(path)), "cost only; what each finds is the next rows")


@row("picture", goal="every copy")
def exact_holds(work: Path) -> Result:
    """Copies on which every dead frame is found and no other."""
    wanted = [i for first, last in DEAD for i in range(first, last + 1)]
    return _exact(work, "hold", acting(50, dead=DEAD), wanted)


@row("picture", goal="every copy")
def no_false_holds(work: Path) -> Result:
    """Copies of a drift of 0.3 px of 1920 on which no frame is called dead."""
    return _exact(work, "drift", drifting(50, 0.15), [])


def _exact(work: Path, name: str, poses: list, wanted: list[int]) -> Result:
    ours = theirs = 0
    for painter, crf, grain in COPIES:
        path = make_film(work / f"{name}.mkv", with_grain(painter(poses), grain), rate=Fraction(24), crf=crf)
        picture = read_film(path).picture
        ours += picture is not None and np.flatnonzero(picture.repeats).tolist() == wanted
        theirs += freezes(path) == wanted
    note = f"of {len(COPIES)} copies (2 painters, CRF 0, 18, 30, 3 grains); freezedetect: {theirs}"
    return Result(float(ours), note, unit="copies", reached=ours == len(COPIES))
