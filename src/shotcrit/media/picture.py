"""One decoded picture, converted only as far as somebody asks, and each conversion shared by all who ask."""

from __future__ import annotations

from functools import lru_cache
from typing import Any

import cv2
import numpy as np
import numpy.typing as npt
from av.video.reformatter import Interpolation, VideoReformatter

from shotcrit.media.shape import Shape

Grey = npt.NDArray[np.uint8]
RGB = npt.NDArray[np.uint8]

BITS_8 = 8
MID_GREY = 128
"""8-bit display value that shows through where the picture is transparent: neutral, half-way."""

_LUMA_709 = np.array([0.2126, 0.7152, 0.0722])
"""Weights of R', G', B' in Y' (ITU-R BT.709-6, 3.2)."""

_LINEAR = ("gbrpf32le", "gbrapf32le", "grayf32le", "gbrpf16le", "gbrapf16le", "grayf16le", "rgbaf16le", "rgbf32le", "rgbaf32le")


_FAST_AT = {
    "yuv420p": "yuv420p", "yuvj420p": "yuvj420p", "yuv422p": "yuv422p", "yuvj422p": "yuvj422p",
    "yuv420p10le": "yuv420p", "yuv422p10le": "yuv422p",
}  # fmt: skip
"""Formats that are scaled before they are painted, to the 8-bit format given: a quarter of the time, at most 2 of 255 off (measured)."""


_PLAIN = ("rgb24", "bgr24")


class Converter:
    """Keeps the scaling contexts from picture to picture. One for each stream of pictures: not for two threads at once."""

    def __init__(self, shape: Shape) -> None:
        self.shape = shape
        self._scaler, self._painter = VideoReformatter(), VideoReformatter()

    def rgb(self, frame: Any, width: int, height: int, fmt: str = "rgb24") -> npt.NDArray[np.uint8]:
        """RGB, or the order that `fmt` says, at a stored size: uint8 [shape=(height, width, channels)]."""
        shape = self.shape
        if fmt in _PLAIN and width < frame.width and height < frame.height and frame.format.name in _FAST_AT:
            frame = self._scaler.reformat(frame, width, height, _FAST_AT[frame.format.name], interpolation=Interpolation.AREA, threads=1)
        range_ = "JPEG" if shape.full else "MPEG"
        yuv = frame.format.name.startswith(("yuv", "nv", "p0", "y4", "xyz", "uyv", "yvy"))
        painted = self._painter.reformat(
            frame, width, height, fmt,
            src_colorspace=shape.matrix if yuv else None, src_color_range=range_ if yuv else None,
            dst_color_range="JPEG", interpolation=_scaling(frame, width), threads=1,
        )  # fmt: skip
        return np.asarray(painted.to_ndarray(), np.uint8)


class Picture:
    """Picture `index` of a movie, upright, with square pixels.

    Arrays that it returns are shared between all who ask for the same size: do not write into them.
    damaged : the file's own picture could not be decoded, and this is the one before it again
    """

    def __init__(self, index: int, frame: Any, converter: Converter, *, damaged: bool = False) -> None:
        self.index = index
        self.damaged = damaged
        self._frame = frame
        self._converter = converter
        self._grey: dict[int, Grey] = {}
        self._rgb: dict[int, RGB] = {}

    @property
    def width(self) -> int:
        return self._converter.shape.width

    @property
    def height(self) -> int:
        return self._converter.shape.height

    def own_converter(self) -> Converter:
        """A converter like this picture's, for another thread."""
        return Converter(self._converter.shape)

    def using(self, converter: Converter) -> Picture:
        """The same picture, converted by `converter`."""
        return Picture(self.index, self._frame, converter, damaged=self.damaged)

    def luma(self, width: int) -> Grey:
        """uint8 [shape=(h, width)]: Y' of the picture, 0 black .. 255 white, area-averaged; h keeps the picture's proportions."""
        if width not in self._grey:
            self._grey[width] = self._make_luma(width)
        return self._grey[width]

    def rgb(self, width: int | None = None) -> RGB:
        """uint8 [shape=(h, width, 3)]: R'G'B' as shown (display-referred), at full width when `width` is None."""
        width = width or self.width
        if width not in self._rgb:
            self._rgb[width] = self._make_rgb(width)
        return self._rgb[width]

    def bgr(self, width: int | None = None) -> RGB:
        """As rgb() but blue first, as OpenCV encodes it; not kept, since nobody asks twice."""
        width = width or self.width
        if width not in self._rgb and self._frame.format.name not in _LINEAR and not _has_alpha(self._frame):
            return self._converter.shape.upright(self._converter.rgb(self._frame, *self._stored(width), "bgr24"))
        return np.asarray(cv2.cvtColor(self.rgb(width), cv2.COLOR_RGB2BGR), np.uint8)

    def _stored(self, width: int) -> tuple[int, int]:
        shape = self._converter.shape
        return shape.stored_size(width, shape.height_at(width))

    def _make_luma(self, width: int) -> Grey:
        plane = _luma_plane(self._frame)
        if plane is None:
            red_green_blue = cv2.transform(self.rgb(width), _LUMA_709[None])
            return np.ascontiguousarray(red_green_blue.reshape(red_green_blue.shape[:2]))
        luma, depth = plane
        size = self._stored(width)
        small = cv2.resize(_halved(luma, size), size, interpolation=_resampling(luma, size))
        table = _luma_table(depth, self._converter.shape.full)
        out = cv2.LUT(small, table) if depth == 8 else np.take(table, np.minimum(small, len(table) - 1))
        return self._converter.shape.upright(out)

    def _make_rgb(self, width: int) -> RGB:
        size = self._stored(width)
        name = self._frame.format.name
        if name in _LINEAR:
            picture = _display(self._frame)
            picture = cv2.resize(picture, size, interpolation=_resampling(picture, size)) if picture.shape[1::-1] != size else picture
        elif _has_alpha(self._frame):
            picture = _over_grey(self._converter.rgb(self._frame, *size, "rgba"))
        else:
            picture = self._converter.rgb(self._frame, *size)
        return self._converter.shape.upright(picture)


def _scaling(frame: Any, width: int) -> Interpolation:
    """Without full chroma and accurate rounding libswscale is up to 5 of 255 off and dark by 2 when it scales (measured).

    At full size its fast path for 8 bits is at most 2 off and ten times as fast; accurate rounding would leave that path.
    """
    exact = Interpolation.FULL_CHR_H_INT | Interpolation.ACCURATE_RND
    if width == frame.width:
        return Interpolation.BICUBIC | (Interpolation.FULL_CHR_H_INT if _bits(frame) == BITS_8 else exact)
    return (Interpolation.AREA if width < frame.width else Interpolation.BICUBIC) | exact


def _bits(frame: Any) -> int:
    return int(frame.format.components[0].bits)


def _resampling(picture: npt.NDArray[Any], size: tuple[int, int]) -> int:
    return cv2.INTER_AREA if size[0] <= picture.shape[1] and size[1] <= picture.shape[0] else cv2.INTER_LINEAR


def _halved(luma: npt.NDArray[Any], size: tuple[int, int]) -> npt.NDArray[Any]:
    """A plane of four times `size` or more, an even number of times, halved until it is twice that: the same mean up to rounding, at half the cost."""
    while luma.shape[1] % (4 * size[0]) == 0 and luma.shape[0] % (4 * size[1]) == 0:
        luma = cv2.resize(luma, (luma.shape[1] // 2, luma.shape[0] // 2), interpolation=cv2.INTER_AREA)
    return luma


def _has_alpha(frame: Any) -> bool:
    return len(frame.format.components) in (2, 4) or frame.format.name == "pal8"


def _over_grey(rgba: npt.NDArray[np.uint8]) -> RGB:
    """Straight alpha over mid grey."""
    alpha = rgba[..., 3:].astype(np.uint16)
    over = rgba[..., :3] * alpha + MID_GREY * (255 - alpha)
    return ((over + 127) // 255).astype(np.uint8)


def _luma_plane(frame: Any) -> tuple[npt.NDArray[Any], int] | None:
    """The stored Y plane as uint8 or uint16 and its bit depth, without a copy; None where the format has none of its own, or alpha."""
    name: str = frame.format.name
    if not name.startswith(("yuv4", "yuvj4", "nv12", "nv16", "gray")) or name.startswith(("yuyv", "grayf")) or name.endswith("be"):
        return None
    depth = frame.format.components[0].bits
    if depth > 16 or (depth == 8) != ("le" not in name) or len(frame.format.components) in (2, 4):
        return None
    plane = frame.planes[0]
    kind = np.uint8 if depth == 8 else np.uint16
    stride = plane.line_size // np.dtype(kind).itemsize
    if stride < frame.width:
        return None
    flat = np.frombuffer(plane, kind, count=stride * frame.height)
    return flat.reshape(frame.height, stride)[:, : frame.width], depth


@lru_cache(maxsize=8)
def _luma_table(depth: int, full: bool) -> npt.NDArray[np.uint8]:
    """Stored luma code to 0..255 (ITU-R BT.709-6, 3.4: black 16, white 235 at 8 bits, scaled by powers of two)."""
    codes = np.arange(1 << depth, dtype=np.float64)
    low, high = (0.0, float((1 << depth) - 1)) if full else (16.0 * 2 ** (depth - 8), 235.0 * 2 ** (depth - 8))
    return np.clip((codes - low) / (high - low) * 255 + 0.5, 0, 255).astype(np.uint8)


@lru_cache(maxsize=1)
def _display_table() -> npt.NDArray[np.uint8]:
    """Every half-float of linear light to an 8-bit sRGB value (IEC 61966-2-1); nan and negative are black, above 1 white."""
    light = np.arange(65536, dtype=np.uint16).view(np.float16).astype(np.float64)
    light = np.clip(np.nan_to_num(light, nan=0.0, posinf=1.0, neginf=0.0), 0, 1)
    shown = np.where(light <= 0.0031308, 12.92 * light, 1.055 * np.maximum(light, 1e-12) ** (1 / 2.4) - 0.055)
    return (shown * 255 + 0.5).astype(np.uint8)


def _display(frame: Any) -> RGB:
    """Linear-light pictures (EXR) as 8-bit sRGB; alpha in EXR is premultiplied, so grey is added in what it leaves, in linear light."""
    light = np.asarray(frame.to_ndarray(), dtype=np.float32)
    if light.ndim == 2:
        light = np.repeat(light[..., None], 3, axis=2)
    if light.shape[2] == 4:
        grey = ((MID_GREY / 255 + 0.055) / 1.055) ** 2.4
        light = light[..., :3] + grey * (1 - np.clip(light[..., 3:], 0, 1))
    with np.errstate(over="ignore", invalid="ignore"):
        halves = np.ascontiguousarray(light[..., :3]).astype(np.float16)
    return np.take(_display_table(), halves.view(np.uint16))
