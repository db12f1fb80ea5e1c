"""The table of a movie's frames: how many, when, and where decoding may begin. By demuxing where that can be trusted, else by decoding.

Demuxing is trusted only when every packet has its own time stamp, the codec gives one picture a packet, nothing is damaged, and the
first pictures and all after the last key frame, really decoded, are the ones that the packets promised.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import islice, pairwise
from pathlib import Path
from statistics import median_low
from typing import Any

from shotcrit.errors import MediaError
from shotcrit.media.container import MOST_PIXELS, decode, decoded, drop_other_streams, opened, packets, stand_at, undecodable
from shotcrit.media.timing import rising
from shotcrit.progress import Progress

_ONE_PICTURE_A_PACKET = {"prores", "dnxhd", "mjpeg", "png", "ffv1", "jpeg2000", "qtrle", "rawvideo", "v210", "huffyuv", "cfhd"}
_NO_THREADS = {"png", "apng"}
"""Decoders whose frame threads can wait for one another for ever after a damaged picture (measured)."""
_TIMED = {"h264", "hevc", "vp9", "av1", "libdav1d"}
_TIMED_FORMATS = ("mov", "matroska")
_NO_OWN_TIME = ("avi",)
"""Containers that number packets in the order of storing; with B-frames that is not the order of showing."""
_HEAD = 6
"""Pictures decoded at the start to check the table; more than any usual run of B-frames. Guess."""
_LONGEST_TAIL = 300
"""Pictures: the last key frame must be nearer to the end than this for its tail to be checked. Guess (x264 sets one every 250)."""
_SHORT_TAIL = 24
"""Pictures at the end that stand for a longer tail; more than any B-frame reordering (16, H.264 A.3.1)."""
_WITHOUT_KEY = {"h264", "hevc"}
"""Decoders that give a picture for every packet even where the key frame before is missing (`showall`, `output_corrupt`)."""
_UNSEEN = {"skip_loop_filter": "all"}
"""For pictures that are counted and not looked at."""
_RAGGED = 32
"""Pictures at the end among which a broken-off file may have holes; B-frame reordering reaches no further than 16 (H.264 A.3.1)."""
_ENOUGH = 8
"""Steps from picture to picture whose median is believed. Guess."""
MOST_PICTURES = 500_000
"""Pictures of a movie: over two hours at 60 a second (guess: no shot has a hundredth of them)."""
_STEP = 48
"""Pictures between two reports of progress."""
_INTRA = 1
"""Picture type I."""


@dataclass(frozen=True)
class FrameTable:
    """pts in ticks of `tick` seconds, rising. keys: indices where decoding may begin. timed: frames can be told apart by their pts."""

    pts: tuple[int, ...]
    keys: tuple[int, ...]
    tick: Fraction
    timed: bool

    def starts(self) -> list[Fraction]:
        """Seconds on the file's own axis."""
        return [p * self.tick for p in self.pts]


def without_ragged_end(table: FrameTable, said: Fraction | None) -> FrameTable:
    """The table of a file that broke off, cut at the first hole near its end.

    said : the file's own rate; counts where there are too few pictures to see the usual step
    Pictures are stored in the order of decoding, so the last ones there may be later than others that are lost.
    """
    steps = [b - a for a, b in pairwise(table.pts)]
    if not table.timed or not steps:
        return table
    usual = median_low(steps) if len(steps) >= _ENOUGH or not said else 1 / (said * table.tick)
    for at in range(max(0, len(steps) - _RAGGED), len(steps)):
        if 2 * steps[at] > 3 * usual:
            return FrameTable(table.pts[: at + 1], tuple(k for k in table.keys if k <= at), table.tick, True)
    return table


@dataclass(frozen=True)
class _Listed:
    pts: int | None
    dts: int | None
    key: bool


def video_stream(container: Any) -> Any | None:
    """The best stream of pictures that is no cover art, or None."""
    moving = [s for s in container.streams.video if not _cover(s)]
    best = container.streams.best("video")
    return best if best in moving else next(iter(moving), None)


def _cover(stream: Any) -> bool:
    return "attached_pic" in str(stream.disposition) or "timed_thumbnails" in str(stream.disposition)


def ready(container: Any, options: Mapping[str, str] | None = None, *, few: bool = False) -> Any:
    """The stream of pictures, set up for decoding on all cores, with everything else skipped. None when there is none.

    options : for the decoder; few : only the first few pictures are wanted, so that none are decoded in advance on other cores
    """
    stream = video_stream(container)
    if stream is None or stream.codec_context is None:
        return None
    drop_other_streams(container, stream)
    stream.thread_type = "SLICE" if few or stream.codec_context.name in _NO_THREADS else "AUTO"
    stream.codec_context.options = {"max_pixels": str(MOST_PIXELS), **(options or {})}
    return stream


def read_table(path: Path, progress: Progress) -> FrameTable:
    """The table of the movie at `path`. Raises MediaError when not one picture can be decoded."""
    listed = _by_demuxing(path)
    if listed is not None and _holds(path, listed):
        return listed
    return _by_decoding(path, progress)


def _by_demuxing(path: Path) -> FrameTable | None:
    with opened(path) as container:
        stream = ready(container)
        name, codec = container.format.name, stream.codec_context.name
        if codec not in _ONE_PICTURE_A_PACKET and not (codec in _TIMED and name.startswith(_TIMED_FORMATS)):
            return None
        found: list[_Listed] = []
        for packet in packets(container, stream, allow_damage=True):
            if packet.is_corrupt:
                return None
            _bound(path, len(found))
            if not packet.is_discard:
                found.append(_Listed(packet.pts, packet.dts, packet.is_keyframe))
        return _table(found, _tick(stream))


def _bound(path: Path, pictures: int) -> None:
    if pictures > MOST_PICTURES:
        raise MediaError(f"{path} has more than {MOST_PICTURES:,} pictures, which are the most that are read; cut out the shot")


def _table(found: Sequence[_Listed], tick: Fraction) -> FrameTable | None:
    if not found or not found[0].key or any(p.pts is None for p in found):
        return None
    order = sorted(found, key=lambda p: p.pts or 0)
    pts = tuple(p.pts for p in order if p.pts is not None)
    if not rising(pts):
        return None
    return FrameTable(pts, tuple(i for i, p in enumerate(order) if p.key), tick, True)


def _tick(stream: Any) -> Fraction:
    base = stream.time_base
    return Fraction(base.numerator, base.denominator) if base else Fraction(1, 24)


def _holds(path: Path, table: FrameTable) -> bool:
    """Whether the first pictures and those after the last key frame decode to the pts that the table has."""
    with opened(path) as container:
        stream = ready(container, _UNSEEN, few=True)
        head = [f.pts for f in islice(decoded(container, stream), _HEAD)]
    if tuple(head) != table.pts[:_HEAD]:
        return False
    key = table.keys[-1]
    if len(table.pts) - key > _SHORT_TAIL and _end_holds(path):
        return True
    if len(table.pts) - key > _LONGEST_TAIL:
        return False
    with opened(path) as container:
        stream = ready(container, _UNSEEN)
        if not stand_at(container, stream, table.pts[key]):
            return False
        tail = [f.pts for f in decoded(container, stream) if f.pts is not None and f.pts >= table.pts[key]]
    return tuple(tail) == table.pts[key:]


def _end_holds(path: Path) -> bool:
    """Whether the last few packets give a picture each, decoded without the key frame that they hang on: what they show does not matter.

    A shot is often one long tail, and decoding it to count it would cost as much as measuring does.
    """
    with opened(path) as container:
        stream = ready(container, _UNSEEN | {"flags": "+output_corrupt", "flags2": "+showall"})
        if stream.codec_context.name not in _WITHOUT_KEY:
            return False
        last = deque(packets(container, stream), maxlen=_SHORT_TAIL)
        found = [frame.pts for packet in (*last, None) for frame in decode(stream, packet)]
    return found == sorted(packet.pts for packet in last)


def _by_decoding(path: Path, progress: Progress) -> FrameTable:
    with opened(path) as container:
        stream = ready(container)
        pts: list[int | None] = []
        keys: list[int] = []
        for i, frame in enumerate(decoded(container, stream)):
            _bound(path, i)
            pts.append(frame.pts)
            if frame.key_frame and int(frame.pict_type) == _INTRA:
                keys.append(i)
            if i % _STEP == 0:
                progress.step("counting pictures", i, stream.frames or None)
        known = [p for p in pts if p is not None]
        own_time = not container.format.name.startswith(_NO_OWN_TIME) or stream.codec_context.name in _ONE_PICTURE_A_PACKET
        if own_time and len(known) == len(pts) > 0 and rising(known):
            return FrameTable(tuple(known), tuple(keys), _tick(stream), True)
        if not pts:
            raise undecodable(path)
        rate = stream.average_rate or stream.guessed_rate or Fraction(24)
        return FrameTable(tuple(range(len(pts))), (0,), Fraction(rate.denominator, rate.numerator), False)
