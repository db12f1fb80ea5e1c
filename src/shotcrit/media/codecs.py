"""Which decoders this build of PyAV carries."""

from __future__ import annotations

import av

WANTED = {
    "H.264": "h264", "HEVC": "hevc", "ProRes": "prores", "DNxHR": "dnxhd", "MPEG-4": "mpeg4", "VP9": "vp9", "AV1": "libdav1d",
    "MJPEG": "mjpeg", "PNG": "png", "TIFF": "tiff", "EXR": "exr", "AAC": "aac", "Opus": "opus", "FLAC": "flac", "PCM": "pcm_s16le",
}  # fmt: skip
"""Trade name -> the decoder's name in FFmpeg."""


def decoders() -> dict[str, bool]:
    """For each format that we promise to read, whether its decoder is there."""
    return {name: codec in av.codecs_available for name, codec in WANTED.items()}
