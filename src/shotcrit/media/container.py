"""Opening files that may be hostile: which formats, how large, and what to say when it fails. No network, no playlists, no nested files."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import av
import av.error
from av.stream import Discard

from shotcrit.errors import MediaError

FORMATS = (
    "mov,mp4,m4a,3gp,3g2,mj2,matroska,webm,avi,mxf,mpegts,mpeg,ogg,gif,apng,dv,ivf,flv,nut,"
    "wav,w64,flac,mp3,aac,aiff,caf,ac3,eac3,au,h264,hevc,m4v,mjpeg"
)
"""Demuxers that a file may ask for. Left out on purpose: everything that opens other files or the network (playlists, concat scripts)."""

LONGEST_SIDE = 8192
"""px; 8K UHD is 7680 wide. A guess at where a review copy ends and a mistake or an attack begins."""
MOST_LOPSIDED = 40
"""Times that one side of a picture may be as long as the other (guess: a row of screens is 16 times as wide as high)."""
MOST_PIXELS = 8192 * 4320
"""Of one picture: about 106 MB as 8-bit RGB."""


@contextmanager
def opened(path: Path) -> Iterator[Any]:
    """An av input container on a plain local file. Raises MediaError in one sentence."""
    check_file(path)
    try:
        container = av.open(
            "file:" + str(path.resolve()), options={"format_whitelist": FORMATS, "protocol_whitelist": "file"}, metadata_errors="replace"
        )
    except (av.error.FFmpegError, ValueError, OSError) as problem:
        raise MediaError(_why_unopened(path)) from problem
    with container:
        yield container


def check_file(path: Path) -> None:
    """Raises MediaError when there is no plain, readable, non-empty file at `path`."""
    try:
        if not path.exists():
            raise MediaError(f"{path} does not exist; check the name and the folder")
        if not path.is_file():
            raise MediaError(f"{path} is not a plain file; name a movie, a picture sequence or a sound")
        if path.stat().st_size == 0:
            raise MediaError(f"{path} is empty (0 bytes); export or copy it again")
        with path.open("rb") as file:
            file.read(1)
    except (OSError, ValueError) as problem:
        reason = problem.strerror if isinstance(problem, OSError) and problem.strerror else str(problem)
        raise MediaError(f"{path} cannot be read ({reason}); check its permissions and that its disk is there") from problem


def _why_unopened(path: Path) -> str:
    with path.open("rb") as file:
        head = file.read(4096)
    if head[4:8] in (b"ftyp", b"mdat", b"wide", b"free"):
        return f"{path} was cut off before its index was written, or its index is damaged; export or copy it again"
    if head[:4] in (b"\x1a\x45\xdf\xa3", b"RIFF", b"fLaC") or head[:4] == b"\x06\x0e\x2b\x34":
        return f"{path} is cut off or damaged near its start; export or copy it again"
    if b"\0" not in head:
        return f"{path} holds text or something else that is no movie, whatever its name says; name the movie itself"
    return f"{path} is not a movie, picture or sound in a format that is known here; export it as MOV, MP4 or MKV"


def undecodable(path: Path) -> MediaError:
    """The error for pictures that no decoder here can read."""
    return MediaError(f"not one picture of {path} can be decoded; it is damaged or of an unknown kind, export it as H.264 or ProRes")


def check_size(path: Path, width: int, height: int) -> None:
    """Raises MediaError for a picture without size or one that is too large to be a review copy."""
    if width <= 0 or height <= 0:
        raise MediaError(f"{path} does not say how large its pictures are; it is damaged or cut off, export or copy it again")
    if max(width, height) > MOST_LOPSIDED * min(width, height):
        raise MediaError(
            f"{path} has pictures of {width} x {height} px, and one side may be {MOST_LOPSIDED} times the other at most; export the whole picture"
        )
    if max(width, height) > LONGEST_SIDE or width * height > MOST_PIXELS:
        raise MediaError(
            f"{path} has pictures of {width} x {height} px, and {LONGEST_SIDE} px a side is the most that is read; export a smaller copy"
        )


def drop_other_streams(container: Any, wanted: Any) -> None:
    """Tell the demuxer to skip the data of every stream but `wanted`."""
    for stream in container.streams:
        if stream is not wanted and stream.type in ("video", "audio", "data", "subtitle"):
            stream.discard = Discard.all


def stand_at(container: Any, stream: Any, pts: int) -> bool:
    """Go to the key frame at or before `pts`; False where the file's index does not allow it."""
    try:
        container.seek(pts, stream=stream)
    except (av.error.FFmpegError, ValueError, OverflowError):
        return False
    return True


def packets(container: Any, stream: Any, *, allow_damage: bool = False) -> Iterator[Any]:
    """The whole packets of one stream; ends quietly where the file does. Damaged or cut packets are left out unless allowed."""
    try:
        for packet in container.demux(stream):
            if packet.size and (allow_damage or not packet.is_corrupt):
                yield packet
    except (av.error.FFmpegError, ValueError):
        return


def decoded(container: Any, stream: Any) -> Iterator[Any]:
    """Every frame of one stream that can be decoded, in the order of showing."""
    for packet in packets(container, stream):
        yield from decode(stream, packet)
    yield from decode(stream, None)


def decode(stream: Any, packet: Any) -> list[Any]:
    """The frames that come out with one packet (None at the end: those still held back); none where it cannot be decoded."""
    try:
        return list(stream.codec_context.decode(packet))
    except (av.error.FFmpegError, ValueError, MemoryError):
        return []
