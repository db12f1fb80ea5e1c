"""How much more than decoding it costs to read a movie, and whether a long one costs more per frame or memory than a short one."""

from __future__ import annotations

import json
import shutil
import subprocess
import sys
from fractions import Fraction
from functools import cache
from pathlib import Path

import av
import numpy as np
from tests.make.films import ball, grain, make_film, numbered, tone
from tests.make.passes import run_pass

from bench.registry import Result, ratio, row
from shotcrit.media import MovieInfo, Picture, open_movie
from shotcrit.media.blocks import FloatArray
from shotcrit.media.proxy import ProxyWriter, proxy_of

FRAMES = 264
SHORT_S, LONG_S = 10, 600
MOST_MEMORY_MB = 700
PASS_GOAL, WHOLE_GOAL, SAME = 3.0, 4.0, 1.25


class Stillness:
    """A reader like the real ones: the difference from the picture before at 480 px."""

    NAME, VERSION, WARMUP, COLUMNS = "bench", 1, 1, ("difference",)

    def start(self, info: MovieInfo) -> None:
        self.last: np.ndarray | None = None

    def feed(self, picture: Picture) -> FloatArray | None:
        grey = picture.luma(480).astype(np.int16)
        difference = np.nan if self.last is None else float(np.abs(grey - self.last).mean())
        self.last = grey
        return np.array([difference], np.float32)


@cache
def shot(work: Path) -> Path:
    """264 frames 1920x1080 H.264, a textured ball that acts over a still ground with light grain."""
    places = [(960 + 500 * np.sin(i / 20), 540 + 300 * np.cos(i / 13)) for i in range(FRAMES)]
    frames = grain(ball(places, size=(1920, 1080), radius=200), 1.0)
    return make_film(work / "shot.mp4", frames, crf=20, sound=tone(11, channels=2))


def decode(path: Path) -> int:
    """Decoding alone, on all cores, nothing else."""
    with av.open(str(path)) as container:
        stream = container.streams.video[0]
        stream.thread_type = "AUTO"
        return sum(1 for _ in container.decode(stream))


@row("media", goal=f"at most {PASS_GOAL:g}, so that all of `measure` can stay within {WHOLE_GOAL:g}")
def pass_with_proxy(work: Path) -> Result:
    """One pass with a reading and the whole proxy, against decoding alone."""
    movie, folder = open_movie(shot(work)), work / "proxy"

    def work_once() -> None:
        shutil.rmtree(folder, ignore_errors=True)
        run_pass(movie, [Stillness()], sinks=[ProxyWriter(proxy_of(movie, folder))])

    value = ratio(work_once, lambda: decode(shot(work)))
    return Result(value, f"{FRAMES} frames 1920x1080 H.264", reached=value <= PASS_GOAL)


@row("media")
def pass_without_proxy(work: Path) -> Result:
    """One pass with a reading and no proxy, against decoding alone."""
    movie = open_movie(shot(work))
    return Result(ratio(lambda: run_pass(movie, [Stillness()]), lambda: decode(shot(work))), f"{FRAMES} frames 1920x1080 H.264")


@row("media")
def opening(work: Path) -> Result:
    """Opening: frame table, hash, length of the sound; against decoding alone."""
    return Result(ratio(lambda: open_movie(shot(work)), lambda: decode(shot(work))), f"{FRAMES} frames 1920x1080 H.264")


def film_of(work: Path, name: str, length_s: int) -> Path:
    """A movie of 320x180 with stereo sound: numbered pictures over a panning texture."""
    path = work / f"{name}.mkv"
    if not path.exists():
        pictures = numbered(24 * length_s, size=(320, 180))
        make_film(path, pictures, gop=48, options={"bf": "0"}, sound=tone(length_s, channels=2), sound_codec="flac")
    return path


def short_film(work: Path) -> Path:
    """Ten seconds."""
    return film_of(work, "short", SHORT_S)


def long_film(work: Path) -> Path:
    """The short movie's packets over and over, ten minutes of them."""
    return over_and_over(short_film(work), work / "long.mkv", SHORT_S, LONG_S // SHORT_S)


def over_and_over(short: Path, path: Path, length_s: int, turns: int) -> Path:
    """A movie of another one's packets, so many times; length_s : of the other."""
    with av.open(str(path), "w") as out:
        streams: dict[int, av.stream.Stream] = {}
        for turn in range(turns):
            with av.open(str(short)) as source:
                for stream in source.streams:
                    streams.setdefault(stream.index, out.add_stream_from_template(stream) if turn == 0 else None)
                for packet in source.demux():
                    if packet.dts is None:
                        continue
                    base = Fraction(packet.time_base.numerator, packet.time_base.denominator)
                    shift = round(turn * length_s / base)
                    packet.pts, packet.dts = packet.pts + shift, packet.dts + shift
                    packet.stream = streams[packet.stream_index]
                    out.mux(packet)
    return path


_ALONE = """
import json, sys, time
from pathlib import Path
sys.path[:0] = [sys.argv[3]]
from bench.rows_media import Stillness, open_movie, run_pass, ProxyWriter, proxy_of
begin = time.process_time()
movie = open_movie(Path(sys.argv[1]))
run_pass(movie, [Stillness()], sinks=[ProxyWriter(proxy_of(movie, Path(sys.argv[2])))])
movie.sound()
peak = next(int(l.split()[1]) for l in open("/proc/self/status") if l.startswith("VmHWM")) / 1024  # maxrss would be the parent's
print(json.dumps([movie.info.frames, (time.process_time() - begin) / movie.info.frames, peak]))
"""


@cache
def _alone(path: Path, turn: int = 0) -> tuple[int, float, float]:
    """(frames, processor seconds a frame on all cores, peak memory in MB) of opening, one pass with proxy and the sound, in a process of its own."""
    folder = path.with_suffix(f".proxy{turn}")
    command = [sys.executable, "-c", _ALONE, str(path), str(folder), str(Path(__file__).resolve().parent.parent)]
    frames, each, peak = json.loads(subprocess.run(command, check=True, capture_output=True, text=True).stdout)
    shutil.rmtree(folder, ignore_errors=True)
    return frames, each, peak


@row("media", goal=f"at most {SAME:g}")
def long_time(work: Path) -> Result:
    """Processor time per frame of a 10-minute movie against a 10-second one."""
    long, short = long_film(work), short_film(work)
    before = _alone(short, 0)[1]
    frames, each, _ = _alone(long)
    value = 2 * each / (before + _alone(short, 1)[1])
    return Result(value, f"{frames} against {24 * SHORT_S} frames of 320x180, start of the program not counted", reached=value <= SAME)


@row("media", goal=f"under {MOST_MEMORY_MB}")
def long_memory(work: Path) -> Result:
    """Peak memory of the 10-minute movie, stereo sound included."""
    _, _, peak = _alone(work / "long.mkv")
    _, _, short = _alone(work / "short.mkv")
    return Result(peak, f"the 10-second one: {short:.0f} MB; the rest is the sound itself", "MB", peak < MOST_MEMORY_MB)


@row("media", goal=f"under {MOST_MEMORY_MB}")
def hd_memory(work: Path) -> Result:
    """Peak memory of the 1920x1080 shot."""
    return Result(_alone(shot(work))[2], f"{FRAMES} frames", "MB", _alone(shot(work))[2] < MOST_MEMORY_MB)
