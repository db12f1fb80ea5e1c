"""A medium's sound as float samples on the time axis of its pictures."""

from __future__ import annotations

import tempfile
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt

from shotcrit.errors import MediaError
from shotcrit.media.container import decoded, drop_other_streams, opened
from shotcrit.media.info import Sound, SoundInfo
from shotcrit.media.mixing import ChannelPower, MixedSound, finite, one_channel

Block = npt.NDArray[np.float32]

JITTER_S = Fraction(1, 50)
"""Time stamps of sound may be off by this much (rounding to milliseconds, encoder delay) before a gap is believed. Guess."""
LONGEST_GAP_S = 3600
"""A hole longer than this is a damaged time stamp. Guess."""
KEPT_IN_MEMORY = 256 << 20
"""Bytes of samples; longer sound lies in a temporary file that the system pages in, so memory stays bounded."""
MOST_CHANNELS = 64
SLOWEST_RATE = 4_000
"""Samples per second; telephones carry 8,000, and under half of that no speech is left (guess)."""
LONGEST_S = 4 * 3600
"""Seconds; longer sound belongs to no shot (guess: a feature film with room to spare)."""
FASTEST_RATE = 768_000
"""Samples per second; the fastest PCM rate in use. Above it a header is damaged."""


@dataclass(frozen=True)
class SoundSource:
    """Where the sound is.

    begins_s : time of its first sample on the file's own axis
    alone : the channel that is heard in place of the mean of all, where they cancel each other
    """

    path: Path
    rate: int
    channels: int
    samples: int
    begins_s: Fraction
    alone: int | None = None

    def info(self, first_picture_s: Fraction) -> SoundInfo:
        """first_picture_s : on the same file axis."""
        return SoundInfo(self.rate, self.channels, self.begins_s - first_picture_s, Fraction(self.samples, self.rate))

    def read(self, first_picture_s: Fraction) -> Sound:
        """All samples, decoded again. Longer than KEPT_IN_MEMORY, they lie in an unnamed temporary file."""
        out = _space((self.samples, self.channels))
        at = 0
        for block in _blocks(self.path, self.rate, self.channels):
            part = block[: self.samples - at]
            out[at : at + len(part)] = part
            at += len(part)
        return Sound(out, self.rate, self.begins_s - first_picture_s)

    def mixed(self, first_picture_s: Fraction) -> MixedSound:
        """The same in one channel, decoded as it is asked for."""
        return MixedSound(self.samples, self.rate, self.begins_s - first_picture_s, self._mono)

    def _mono(self) -> Iterator[Block]:
        at = 0
        for block in _blocks(self.path, self.rate, self.channels):
            part = one_channel(finite(block[: self.samples - at]), self.alone)
            at += len(part)
            yield part


def open_sound(path: Path) -> SoundSource | None:
    """The sound of a file, counted by decoding it once; None when it has none that can be decoded. Raises MediaError."""
    with opened(path) as container:
        stream = _stream(container)
        first = next(decoded(container, stream), None) if stream is not None else None
        if first is None or not 0 < first.sample_rate <= FASTEST_RATE or not 0 < first.layout.nb_channels <= MOST_CHANNELS:
            return None
        rate, channels, begins = first.sample_rate, first.layout.nb_channels, _time(first)
    if rate < SLOWEST_RATE:
        raise MediaError(f"{path} has sound of {rate} samples a second, and {SLOWEST_RATE} is the least that is read; export it at 48000")
    samples, power = 0, ChannelPower(channels)
    for block in _blocks(path, rate, channels):
        samples += len(block)
        if samples > LONGEST_S * rate:
            raise MediaError(f"{path} has more than {LONGEST_S // 3600} hours of sound, which is the most that is read; cut out the shot")
        power.add(finite(block))
    return SoundSource(path, rate, channels, samples, begins, power.alone()) if samples else None


def _space(shape: tuple[int, int]) -> Block:
    if shape[0] * shape[1] * 4 <= KEPT_IN_MEMORY:
        return np.zeros(shape, np.float32)
    try:
        with tempfile.TemporaryFile() as file:
            file.truncate(shape[0] * shape[1] * 4)
            return np.memmap(file, np.float32, "r+", shape=shape)
    except OSError as problem:
        raise MediaError(f"the temporary folder {tempfile.gettempdir()} has no room for the sound; make room there") from problem


def _stream(container: Any) -> Any | None:
    stream = container.streams.best("audio") if container.streams.audio else None
    if stream is None or stream.codec_context is None:
        return None
    drop_other_streams(container, stream)
    return stream


def _time(frame: Any) -> Fraction:
    if frame.pts is None or not frame.time_base:
        return Fraction(0)
    return frame.pts * Fraction(frame.time_base.numerator, frame.time_base.denominator)


def _blocks(path: Path, rate: int, channels: int) -> Iterator[Block]:
    """float32 [shape=(n, channels)] blocks on an even axis: holes are filled with silence, what overlaps is dropped."""
    with opened(path) as container:
        stream = _stream(container)
        written, begins = 0, None
        for frame in decoded(container, stream):
            block = _floats(frame, rate, channels)
            if begins is None:
                begins = _time(frame)
            if frame.pts is not None:
                late = round((_time(frame) - begins) * rate) - written
                if JITTER_S * rate < late <= LONGEST_GAP_S * rate:
                    yield from _silence(late, channels)
                    written += late
                elif -LONGEST_GAP_S * rate <= late < -JITTER_S * rate:
                    block = block[-late:]
            written += len(block)
            yield block


def _silence(samples: int, channels: int) -> Iterator[Block]:
    for at in range(0, samples, 1 << 16):
        yield np.zeros((min(1 << 16, samples - at), channels), np.float32)


def _floats(frame: Any, rate: int, channels: int) -> Block:
    """A decoded block as float32, full scale -1 .. 1, at the stream's first rate and channel count."""
    if frame.sample_rate != rate or frame.layout.nb_channels != channels:
        return np.zeros((0, channels), np.float32)
    name = frame.format.name
    data = frame.to_ndarray()
    planar = data if name.endswith("p") else data.reshape(-1, channels).T
    scale = {"u8": 128.0, "s16": 32768.0, "s32": 2147483648.0, "s64": 9223372036854775808.0}.get(name.rstrip("p"), 1.0)
    out = np.ascontiguousarray(planar.T, dtype=np.float32)
    return (out - 128) / np.float32(scale) if name.startswith("u8") else out / np.float32(scale)
