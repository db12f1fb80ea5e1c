"""How a stored picture becomes the picture as it should be seen: upright, square pixels, right matrix and range."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import Any

import numpy as np
import numpy.typing as npt

HD_HEIGHT = 720
"""Pictures at least this high are taken as BT.709 when the stream does not say, smaller ones as BT.601 (common practice, no source)."""

_BT709, _BT2020 = 1, 9
_UNSPECIFIED = (0, 2)
_FULL = 2
_SWS_709, _SWS_601, _SWS_2020 = 1, 5, 9


@dataclass(frozen=True)
class Shape:
    """Stored size, and what is done to it.

    width, height : as shown, after pixels are made square and the picture is turned upright
    turns : quarter turns counter-clockwise, then `mirror` swaps left and right
    matrix : colour space number of libswscale; full : luma uses 0..255, not 16..235
    """

    stored_width: int
    stored_height: int
    width: int
    height: int
    turns: int = 0
    mirror: bool = False
    matrix: int = _SWS_709
    full: bool = False

    def stored_size(self, width: int, height: int) -> tuple[int, int]:
        """The size before turning that becomes width x height after it."""
        return (height, width) if self.turns % 2 else (width, height)

    def upright(self, picture: npt.NDArray[Any]) -> npt.NDArray[Any]:
        """Turned and mirrored; a contiguous array."""
        if self.turns:
            picture = np.rot90(picture, self.turns)
        if self.mirror:
            picture = picture[:, ::-1]
        return np.ascontiguousarray(picture)

    def height_at(self, width: int) -> int:
        """The height that goes with a width."""
        return max(1, round(width * self.height / self.width))


def shape_of(frame: Any, sar: Fraction | None) -> Shape:
    """The shape of a decoded av frame; sar is the stream's pixel width / height, None or 0 when unsaid."""
    turns, mirror = _turning(frame)
    width, height = _square(frame.width, frame.height, sar)
    if turns % 2:
        width, height = height, width
    return Shape(frame.width, frame.height, width, height, turns, mirror, _matrix(frame), _full(frame))


def _square(width: int, height: int, sar: Fraction | None) -> tuple[int, int]:
    """Square pixels: the side that is too short is stretched, none is shrunk."""
    if not sar or sar <= 0 or not Fraction(1, 8) <= sar <= 8:
        return width, height
    if sar >= 1:
        return max(1, round(width * sar)), height
    return width, max(1, round(height / sar))


def _matrix(frame: Any) -> int:
    said = int(frame.colorspace)
    if said in _UNSPECIFIED:
        return _SWS_709 if frame.height >= HD_HEIGHT else _SWS_601
    return {_BT709: _SWS_709, _BT2020: _SWS_2020, 10: _SWS_2020, 7: 7, 4: 4}.get(said, _SWS_601)


def _full(frame: Any) -> bool:
    return int(frame.color_range) == _FULL or frame.format.name.startswith("yuvj")


def _turning(frame: Any) -> tuple[int, bool]:
    """Quarter turns counter-clockwise and mirroring from the display matrix (ISO/IEC 14496-12, 6.2.2 and 8.3.2)."""
    try:
        data = frame.side_data.get("DISPLAYMATRIX")
    except ValueError:  # the binding does not know every kind of side data (EXIF blocks of TIFF files)
        return round(frame.rotation / 90) % 4, False
    if data is None or len(bytes(data)) < 36:
        return 0, False
    m = np.frombuffer(bytes(data), np.int32)[[0, 1, 3, 4]].astype(float) / 65536
    a, b, c, d = m
    mirror = bool(a * d - b * c < 0)
    if mirror:
        a, c = -a, -c
    angle = np.degrees(np.arctan2(b, a))  # clockwise on a picture whose y points down
    return round(float(-angle) / 90) % 4, mirror
