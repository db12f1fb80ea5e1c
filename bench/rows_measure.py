"""`shotcrit measure` as a user runs it: a program of its own, an empty cache, lines given, proxy made; beside what it is compared with."""

from __future__ import annotations

import os
import resource
import shutil
import statistics
import subprocess
import sys
import threading
import time
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from pathlib import Path

import psutil

from bench.registry import Result, row
from bench.rows_media import LONG_S, MOST_MEMORY_MB, SAME, SHORT_S, film_of, long_film

FRAMES = 264
GOAL = 4.0
MINUTE_S = 60
ROUNDS = 3
LOOK_EVERY_S = 0.02
STEM = Path(str(files("shotcrit") / "demo_film" / "lantern_040_take1"))

DECODE = """
import sys, av
with av.open(sys.argv[1]) as container:
    stream = container.streams.video[0]
    stream.thread_type = "AUTO"
    print(sum(1 for _ in container.decode(stream)))
"""
CUTS = """
import sys
from scenedetect import AdaptiveDetector, detect
print(len(detect(sys.argv[1], AdaptiveDetector())))
"""


@dataclass(frozen=True)
class Cost:
    """Of a program with all that it started: seconds by the clock, seconds of processor on all cores, peak memory (sum of resident sizes)."""

    wall_s: float
    cpu_s: float
    peak_mb: float


def cost(command: Sequence[str], environment: dict[str, str] | None = None) -> Cost:
    """Run a program to its end. Raises CalledProcessError with what it said."""
    before, begin = _spent(), time.perf_counter()
    process = subprocess.Popen(
        command, env={**os.environ, **(environment or {})}, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE, text=True
    )
    peak = [0.0]
    watch = threading.Thread(target=_watch, args=(process.pid, peak), daemon=True)
    watch.start()
    said = process.communicate()[1]
    wall = time.perf_counter() - begin
    watch.join()
    if process.returncode:
        raise subprocess.CalledProcessError(process.returncode, command, stderr=said[-500:])
    return Cost(wall, _spent() - before, peak[0])


def _spent() -> float:
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    return used.ru_utime + used.ru_stime


def _watch(pid: int, peak: list[float]) -> None:
    """The greatest sum of resident sizes of a process and its children; what they share is counted for each, so it errs upward."""
    try:
        first = psutil.Process(pid)
        while first.is_running() and first.status() != psutil.STATUS_ZOMBIE:
            total = 0
            for one in [first, *first.children(recursive=True)]:
                try:
                    total += one.memory_info().rss
                except psutil.Error:
                    continue
            peak[0] = max(peak[0], total / 2**20)
            time.sleep(LOOK_EVERY_S)
    except psutil.Error:
        return


def measuring(film: Path, work: Path, *more: str) -> Cost:
    """`shotcrit measure FILM --json F` into an empty cache."""
    folder = work / "measure-cache"
    shutil.rmtree(folder, ignore_errors=True)
    program = Path(sys.executable).with_name("shotcrit")
    return cost([str(program), "measure", str(film), "--json", str(work / "measured.json"), *more], {"SHOTCRIT_CACHE": str(folder)})


@cache
def shot(work: Path) -> Path:
    """264 frames of the demo shot with its sound, at 1920 x 1080, H.264 at CRF 18: a review copy as studios send it."""
    path = work / "lantern_1080.mp4"
    command = [
        "ffmpeg",
        "-v",
        "error",
        "-nostdin",
        "-y",
        "-i",
        f"{STEM}.mp4",
        "-t",
        str(FRAMES / 24),
        "-vf",
        "scale=1920:1080:flags=lanczos",
    ]
    codec = ["-c:v", "libx264", "-crf", "18", "-pix_fmt", "yuv420p", "-c:a", "aac", "-b:a", "160k", str(path)]
    subprocess.run([*command, *codec], check=True)
    return path


def _middle(costs: list[Cost]) -> Cost:
    return Cost(*(statistics.median(getattr(c, name) for c in costs) for name in ("wall_s", "cpu_s", "peak_mb")))


@cache
def side_by_side(work: Path) -> dict[str, Cost]:
    """All programs in turn, ROUNDS times over, so that a machine that slows down slows them all: the middle of each."""
    film, python = str(shot(work)), sys.executable
    commands = {
        "decode": lambda: cost([python, "-c", DECODE, film]),
        "measure": lambda: measuring(shot(work), work, "--lines", f"{STEM}.lines.txt"),
        "decode start": lambda: cost([python, "-c", "import av"]),
        "measure start": lambda: cost([python, "-c", "import shotcrit.cli.app, shotcrit.cli.measuring"]),
        "cuts": lambda: cost([python, "-c", CUTS, film]),
        "freezes": lambda: cost(["ffmpeg", "-v", "error", "-nostdin", "-i", film, "-vf", "freezedetect=n=0.001:d=0.08", "-f", "null", "-"]),
    }
    found: dict[str, list[Cost]] = {name: [] for name in commands}
    for _ in range(ROUNDS):
        for name, run in commands.items():
            found[name].append(run())
    return {name: _middle(costs) for name, costs in found.items()}


@row("measure", goal=f"at most {GOAL:g}")
def against_decoding(work: Path) -> Result:
    """`shotcrit measure` of the demo shot at 1920x1080, lines, proxy and all start-up included, against decoding it (PyAV, all cores)."""
    found = side_by_side(work)
    ours, bare = found["measure"], found["decode"]
    value = ours.wall_s / bare.wall_s
    without = (ours.wall_s - found["measure start"].wall_s) / (bare.wall_s - found["decode start"].wall_s)
    start = found["measure start"].wall_s / ours.wall_s
    note = (
        f"{FRAMES} frames H.264, each a program of its own; by processor time {ours.cpu_s / bare.cpu_s:.2f}; start-up (the interpreter and its "
        f"libraries) is {start:.0%} of ours and {found['decode start'].wall_s / bare.wall_s:.0%} of decoding's, without it on both sides {without:.2f}"
    )
    return Result(value, note, reached=value <= GOAL)


@row("measure")
def against_scenedetect(work: Path) -> Result:
    """The same against PySceneDetect's AdaptiveDetector alone, which finds cuts only."""
    found = side_by_side(work)
    value = found["measure"].wall_s / found["cuts"].wall_s
    return Result(value, f"by processor time {found['measure'].cpu_s / found['cuts'].cpu_s:.2f}; both with their start-up")


@row("measure")
def against_freezedetect(work: Path) -> Result:
    """The same against ffmpeg with freezedetect alone, which finds holds only."""
    found = side_by_side(work)
    value = found["measure"].wall_s / found["freezes"].wall_s
    return Result(value, f"by processor time {found['measure'].cpu_s / found['freezes'].cpu_s:.2f}; both with their start-up")


@row("measure", goal=f"under {MOST_MEMORY_MB}")
def memory(work: Path) -> Result:
    """Peak memory of that, with the process that reads the sound."""
    peak = side_by_side(work)["measure"].peak_mb
    return Result(peak, f"{FRAMES} frames 1920x1080; resident sizes of both processes added up", "MB", peak < MOST_MEMORY_MB)


@cache
def _three_lengths(work: Path) -> tuple[Cost, Cost, Cost]:
    """(10 minutes, a minute, 10 seconds) of one movie with stereo sound and no lines. What every run costs falls out between two of them."""
    short, minute = film_of(work, "short", SHORT_S), film_of(work, "minute", MINUTE_S)
    costs = [(measuring(short, work), measuring(minute, work)) for _ in range(ROUNDS)]
    return measuring(long_film(work), work), _middle([b for _, b in costs]), _middle([a for a, _ in costs])


@row("measure", goal=f"at most {SAME:g}")
def long_time(work: Path) -> Result:
    """Processor time a frame of `shotcrit measure` on a 10-minute movie against a 10-second one."""
    long, minute, short = _three_lengths(work)
    frames, some, few = 24 * LONG_S, 24 * MINUTE_S, 24 * SHORT_S
    value = long.cpu_s / frames / (short.cpu_s / few)
    further = (long.cpu_s - minute.cpu_s) / (frames - some) / ((minute.cpu_s - short.cpu_s) / (some - few))
    note = (
        f"{frames} against {few} frames of 320x180, with the start of the program; without it, a frame after the first minute against "
        f"one before it: {further:.2f}"
    )
    return Result(value, note, reached=max(value, further) <= SAME)


@row("measure", goal=f"at most {SAME:g}, and under {MOST_MEMORY_MB} MB")
def long_memory(work: Path) -> Result:
    """Peak memory of `shotcrit measure` on the 10-minute movie against the 10-second one, stereo sound included, both processes added up."""
    long, minute, short = _three_lengths(work)
    value = long.peak_mb / short.peak_mb
    note = f"10 minutes {long.peak_mb:.0f} MB, a minute {minute.peak_mb:.0f} MB, 10 seconds {short.peak_mb:.0f} MB; what grows is the sound at 16 kHz, and rows"
    return Result(value, note, reached=value <= SAME and long.peak_mb < MOST_MEMORY_MB)
