"""The proxy's sound: one FLAC whose first sample belongs to the first picture."""

from __future__ import annotations

import tempfile
from collections.abc import Iterator
from fractions import Fraction
from pathlib import Path
from typing import Any

import av
import av.error
import numpy as np
import numpy.typing as npt

from shotcrit.media.info import Sound
from shotcrit.media.whole import cannot_write

_BLOCK = 1 << 15
"""Samples written at a time."""
_SIDE = 0.7071
"""-3 dB: what centre and surround add to left and right (ITU-R BS.775-4, annex 4, table 2)."""
_FLAC_MOST_RATE = 655_350
_FULL_SCALE = 32767

FloatArray = npt.NDArray[np.float32]


def write_proxy_sound(sound: Sound, path: Path) -> Path:
    """Write `sound` as 16-bit FLAC, mono or stereo, time 0 = first picture: late sound is padded with silence, what comes before is cut.

    More than two channels are mixed down; a mix that would clip is turned down as a whole. Whole or not at all. Raises MediaError.
    """
    gain = 1 / max(1.0, _peak(sound))
    temporary = None
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        with tempfile.NamedTemporaryFile(prefix=".part-", suffix=".flac", dir=path.parent, delete=False) as file:
            temporary = Path(file.name)
        _encode(temporary, _blocks(sound, gain), sound.rate, min(2, sound.samples.shape[1]))
        temporary.replace(path)
    except OSError as problem:
        raise cannot_write(path, problem) from problem
    finally:
        if temporary is not None:
            temporary.unlink(missing_ok=True)
    return path


def _encode(path: Path, blocks: Iterator[FloatArray], rate: int, channels: int) -> None:
    with av.open(str(path), "w", format="flac") as out:
        stream: Any = out.add_stream("flac", rate=rate, layout="mono" if channels == 1 else "stereo")
        stream.codec_context.format = "s16"
        at = 0
        for block in blocks:
            ints = np.clip(np.rint(block * _FULL_SCALE), -32768, 32767).astype(np.int16)
            frame: Any = av.AudioFrame.from_ndarray(ints.reshape(1, -1), format="s16", layout="mono" if channels == 1 else "stereo")
            frame.sample_rate, frame.pts, frame.time_base = rate, at, Fraction(1, rate)
            at += len(block)
            out.mux(stream.encode(frame))
        out.mux(stream.encode(None))


def _blocks(sound: Sound, gain: float) -> Iterator[FloatArray]:
    """float32 [shape=(n, 1 or 2)] from the first picture on."""
    late = round(sound.offset_s * sound.rate)
    channels = min(2, sound.samples.shape[1])
    for at in range(0, max(0, late), _BLOCK):
        yield np.zeros((min(_BLOCK, late - at), channels), np.float32)
    for at in range(max(0, -late), len(sound.samples), _BLOCK):
        yield downmix(sound.samples[at : at + _BLOCK]) * np.float32(gain)


def downmix(samples: FloatArray) -> FloatArray:
    """float32 [shape=(n, channels)] to [shape=(n, 1 or 2)]; channel order FL FR FC LFE and then left and right in turn. LFE is left out."""
    channels = samples.shape[1]
    if channels <= 2:
        return samples
    matrix = np.zeros((channels, 2), np.float32)
    matrix[0, 0] = matrix[1, 1] = 1
    if channels == 4:
        matrix[2, 0] = matrix[3, 1] = _SIDE
    else:
        matrix[2] = _SIDE
        for c in range(4, channels):
            matrix[c, c % 2] = _SIDE
    return np.asarray(samples @ matrix, dtype=np.float32)


def _peak(sound: Sound) -> float:
    if sound.samples.shape[1] <= 2:
        return 1.0
    blocks = (downmix(sound.samples[at : at + _BLOCK]) for at in range(0, len(sound.samples), _BLOCK))
    return max((float(np.abs(b).max(initial=0)) for b in blocks), default=1.0)
