"""Small films with known answers: any codec, container, rate, sound; the number of each frame can be read back from its pixels.

    path = make_film(tmp_path / "a.mp4", numbered(48), rate=Fraction(24000, 1001), sound=tone(2.0))
    assert read_stamp(picture_luma) == 17

Drawers yield uint8 [shape=(h, w, 3)] RGB (or 4 channels for films with alpha) and are endless only when asked to be.
"""

from __future__ import annotations

import os
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import lcm
from pathlib import Path

import av
import cv2
import numpy as np
import numpy.typing as npt

RGB = npt.NDArray[np.uint8]
Samples = npt.NDArray[np.float32]

STAMP_BITS = 12
LAYOUTS = {1: "mono", 2: "stereo", 3: "2.1", 4: "quad", 6: "5.1", 8: "7.1"}
SOUND_CODECS = {".mp4": "aac", ".mov": "pcm_s16le", ".mkv": "flac", ".webm": "libopus", ".avi": "pcm_s16le", ".mxf": "pcm_s16le"}
os.environ.setdefault("SVT_LOG", "0")  # the AV1 encoder prints a page for every film otherwise
CRF_CODECS = ("libx264", "libx265", "libvpx-vp9", "libsvtav1")


# -- the number in the picture -----------------------------------------------------------------------------------------


def stamp(picture: RGB, number: int) -> RGB:
    """`number` (0..4095) drawn into the top of the picture: two rows of 12 blocks, the second inverted; drawn in place."""
    h, w = picture.shape[:2]
    side = _block(h, w)
    for bit in range(STAMP_BITS):
        on = bool(number >> (STAMP_BITS - 1 - bit) & 1)
        for row, lit in ((0, on), (1, not on)):
            x, y = round(bit * w / STAMP_BITS), row * side
            picture[y : y + side, x : round((bit + 1) * w / STAMP_BITS), :3] = 235 if lit else 20
    return picture


def read_stamp(picture: RGB) -> int | None:
    """The number that stamp() drew, from RGB or luma at any size; None where the two rows disagree (a blended or torn frame)."""
    grey = picture if picture.ndim == 2 else picture[..., :3].mean(axis=2)
    h, w = grey.shape
    side = _block(h, w)
    rows: list[list[float]] = [[], []]
    for row in (0, 1):
        for bit in range(STAMP_BITS):
            x0, x1 = bit * w / STAMP_BITS, (bit + 1) * w / STAMP_BITS
            pad = (x1 - x0) / 4
            patch = grey[
                round((row + 0.3) * side) : max(round((row + 0.7) * side), round((row + 0.3) * side) + 1),
                round(x0 + pad) : round(x1 - pad) + 1,
            ]
            rows[row].append(float(patch.mean()))
    bits = [a > b for a, b in zip(*rows, strict=True)]
    if any(abs(a - b) < 80 for a, b in zip(*rows, strict=True)):
        return None
    return sum(bit << (STAMP_BITS - 1 - i) for i, bit in enumerate(bits))


def _block(h: int, w: int) -> int:
    """Height of a block; square as the picture is stored, as far as the height allows."""
    return max(2, min(round(w / STAMP_BITS), h // 4))


# -- drawers -----------------------------------------------------------------------------------------------------------


def texture(width: int, height: int, *, seed: int = 1, softness: float = 3.0) -> RGB:
    """A soft random pattern with detail everywhere, full range of tones."""
    noise = np.random.default_rng(seed).normal(size=(height, width, 3)).astype(np.float32)
    soft = cv2.GaussianBlur(noise, (0, 0), softness)
    spread = soft.std(axis=(0, 1))
    return np.clip(128 + 45 * soft / spread, 0, 255).astype(np.uint8)


def numbered(count: int, *, size: tuple[int, int] = (192, 108), first: int = 0, seed: int = 1) -> Iterator[RGB]:
    """`count` stamped frames over a texture that pans by one pixel a frame. size is (width, height)."""
    width, height = size
    ground = texture(width, height, seed=seed)
    for i in range(count):
        yield stamp(np.roll(ground, i, axis=1).copy(), first + i)


def panned(count: int, *, size: tuple[int, int] = (320, 180), px_per_frame: float = 1.0, seed: int = 2) -> Iterator[RGB]:
    """A texture seen by a camera that pans at `px_per_frame`, sub-pixel exact (bicubic shift)."""
    width, height = size
    margin = int(np.ceil(abs(px_per_frame) * count)) + 8
    ground = texture(width + 2 * margin, height, seed=seed)
    for i in range(count):
        move = np.float32([[1, 0, -(margin + px_per_frame * i)], [0, 1, 0]])
        yield cv2.warpAffine(ground, move, (width, height), flags=cv2.INTER_CUBIC)


def ball(
    positions: Sequence[tuple[float, float]], *, size: tuple[int, int] = (320, 180), radius: float = 20, seed: int = 3
) -> Iterator[RGB]:
    """A textured ball on a still textured ground, its centre at each of `positions` (x, y in px, sub-pixel exact)."""
    width, height = size
    ground = texture(width, height, seed=seed, softness=6) // 2 + 40
    side = int(2 * radius + 8)
    skin = texture(side, side, seed=seed + 1, softness=2)
    yy, xx = np.mgrid[0:side, 0:side]
    alpha = np.clip(radius - np.hypot(xx - (side - 1) / 2, yy - (side - 1) / 2) + 0.5, 0, 1).astype(np.float32)
    for x, y in positions:
        move = np.float32([[1, 0, x - (side - 1) / 2], [0, 1, y - (side - 1) / 2]])
        over = cv2.warpAffine(skin, move, (width, height)).astype(np.float32)
        mask = cv2.warpAffine(alpha, move, (width, height))[..., None]
        yield np.clip(ground * (1 - mask) + over * mask + 0.5, 0, 255).astype(np.uint8)


def grain(frames: Iterable[RGB], sigma: float, *, seed: int = 4) -> Iterator[RGB]:
    """New noise on every frame, alike in the three channels, standard deviation `sigma` in 8-bit steps."""
    rng = np.random.default_rng(seed)
    for frame in frames:
        noise = rng.normal(scale=sigma, size=frame.shape[:2]).astype(np.float32)[..., None]
        yield np.clip(frame + noise + 0.5, 0, 255).astype(np.uint8)


def held(frames: Iterable[RGB], order: Sequence[int]) -> Iterator[RGB]:
    """The frames in the given order: held(f, [0, 1, 1, 1, 2]) holds the second for three frames. Keeps all frames in memory."""
    kept = list(frames)
    for i in order:
        yield kept[i]


def faded(frames: Iterable[RGB], alpha: float) -> Iterator[RGB]:
    """The frames as RGBA with one alpha (0..1) over the right half, opaque on the left."""
    for frame in frames:
        a = np.full(frame.shape[:2], 255, np.uint8)
        a[:, frame.shape[1] // 2 :] = round(alpha * 255)
        yield np.dstack([frame, a])


# -- sound -------------------------------------------------------------------------------------------------------------


def tone(seconds: float, *, hz: float = 220, rate: int = 48000, channels: int = 1, level: float = 0.3) -> Samples:
    """A sine, float32 [shape=(n, channels)]; channel c sounds c octaves higher... so that each can be told apart."""
    t = np.arange(round(seconds * rate)) / rate
    return np.stack([level * np.sin(2 * np.pi * hz * (c + 1) * t) for c in range(channels)], axis=1).astype(np.float32)


def clicks(seconds: float, at_s: Sequence[float], *, rate: int = 48000, channels: int = 1) -> Samples:
    """Silence with a 2 ms burst starting exactly at each time of `at_s` (seconds from sample 0)."""
    out = np.zeros((round(seconds * rate), channels), np.float32)
    length = rate // 500
    for t in at_s:
        start = round(t * rate)
        burst = 0.8 * np.where(np.arange(length) % 8 < 4, 1, -1)[: max(0, len(out) - start)]
        out[start : start + len(burst)] = burst[:, None]
    return out


# -- films -------------------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Film:
    """How a film is made; make_film fills it from its keywords."""

    rate: Fraction = Fraction(24)
    durations: Sequence[Fraction] | None = None
    codec: str = "libx264"
    crf: int | None = 18
    pix_fmt: str = "yuv420p"
    options: dict[str, str] | None = None
    rotation: int = 0
    sar: Fraction = Fraction(1)
    matrix: str | None = "bt709"
    full_range: bool = False
    sound: Samples | None = None
    sound_rate: int = 48000
    sound_offset_s: Fraction | float = 0
    sound_codec: str | None = None
    container: str | None = None
    timecode: str | None = None
    gop: int | None = None
    container_options: dict[str, str] | None = None


def make_film(path: Path, frames: Iterable[RGB], **how: object) -> Path:
    """Write `frames` to `path`; the container comes from its name. Returns the path.

    rate : frames per second; durations : one Fraction of seconds a frame instead, for a variable rate
    codec, crf, pix_fmt, options, gop : of the encoder; crf counts for H.264, HEVC, VP9 and AV1 only
    rotation : degrees counter-clockwise that a player must turn the stored picture by; sar : pixel width / height
    matrix : 'bt709', 'bt601' or None (left unsaid, converted as bt601); full_range : 0..255 luma
    sound : float32 [shape=(n, channels)] at sound_rate, its first sample at sound_offset_s from the first picture (negative = earlier)
    timecode : 'HH:MM:SS:FF' written by containers that can
    """
    film = Film(**how)  # type: ignore[arg-type]
    with av.open(str(path), "w", format=film.container, options=film.container_options or {}) as out:
        _write(out, path, iter(frames), film)
    return path


def _write(out: av.container.OutputContainer, path: Path, frames: Iterator[RGB], film: Film) -> None:
    first = next(frames)
    stream, tick = _video_stream(out, first, film)
    sound_stream = _sound_stream(out, path, film)
    late = max(Fraction(0), -Fraction(film.sound_offset_s).limit_denominator(film.sound_rate)) if film.sound is not None else Fraction(0)
    sound = _sound_frames(film, late) if sound_stream else iter(())
    pending = next(sound, None)
    now = late
    for index, frame in enumerate(_chain(first, frames)):
        while pending is not None and Fraction(pending.pts, film.sound_rate) <= now:
            out.mux(sound_stream.encode(pending))
            pending = next(sound, None)
        picture = _picture(frame, film)
        picture.pts, picture.time_base = round(now / tick), tick
        out.mux(stream.encode(picture))
        now += film.durations[index] if film.durations else 1 / film.rate
    out.mux(stream.encode(None))
    while pending is not None:
        out.mux(sound_stream.encode(pending))
        pending = next(sound, None)
    if sound_stream:
        out.mux(sound_stream.encode(None))


def _chain(first: RGB, rest: Iterator[RGB]) -> Iterator[RGB]:
    yield first
    yield from rest


def _video_stream(out: av.container.OutputContainer, first: RGB, film: Film) -> tuple[av.VideoStream, Fraction]:
    options = dict(film.options or {})
    if film.codec in CRF_CODECS and film.crf is not None:
        options.setdefault("crf", str(film.crf))
    if film.codec == "libx264" and film.crf == 0:
        options.setdefault("preset", "ultrafast")  # without loss the pictures are the same at every preset
    if film.codec == "libx265":
        options.setdefault("x265-params", "log-level=error")
    if film.codec == "libsvtav1":
        options.setdefault("preset", "12")
        options.setdefault("svtav1-params", "lp=1")
    if film.codec == "libvpx-vp9":
        options.setdefault("deadline", "realtime")
        options.setdefault("cpu-used", "8")
    stream = out.add_stream(film.codec, rate=film.rate, options=options)
    stream.height, stream.width = first.shape[:2]
    stream.pix_fmt = film.pix_fmt
    context = stream.codec_context
    tick = 1 / film.rate
    if film.durations:
        tick = Fraction(1, lcm(*(Fraction(d).denominator for d in film.durations)))
        context.time_base = tick
    if film.sar != 1:
        context.sample_aspect_ratio = film.sar
    if film.matrix:
        context.colorspace = {"bt709": 1, "bt601": 6}[film.matrix]
        context.color_primaries = {"bt709": 1, "bt601": 6}[film.matrix]
        context.color_trc = {"bt709": 1, "bt601": 6}[film.matrix]
    if film.full_range or film.matrix:
        context.color_range = 2 if film.full_range else 1
    if film.gop:
        context.gop_size = film.gop
    if film.codec == "dnxhd":
        context.bit_rate = 36_000_000
    elif film.codec in ("mpeg4", "mjpeg", "mpeg2video"):
        context.bit_rate = 4_000_000
    if film.rotation:
        stream.set_display_rotation(film.rotation)
    if film.timecode:
        stream.metadata["timecode"] = film.timecode
    return stream, tick


def _picture(frame: RGB, film: Film) -> av.VideoFrame:
    kind = "rgba" if frame.shape[2] == 4 else "rgb24"
    picture = av.VideoFrame.from_ndarray(np.ascontiguousarray(frame), format=kind)
    if film.pix_fmt.startswith(("rgb", "gbr", "argb", "bgr")):
        return picture.reformat(format=film.pix_fmt)
    space = "ITU709" if film.matrix == "bt709" else "ITU601"
    wide = film.full_range or film.pix_fmt.startswith("yuvj")
    out = picture.reformat(
        format=film.pix_fmt, dst_colorspace=space, src_color_range="JPEG", dst_color_range="JPEG" if wide else "MPEG",
        interpolation="BICUBIC",
    )  # fmt: skip
    out.color_range = 2 if wide else 1
    return out


def _sound_stream(out: av.container.OutputContainer, path: Path, film: Film) -> av.AudioStream | None:
    if film.sound is None:
        return None
    codec = film.sound_codec or SOUND_CODECS.get(path.suffix.lower(), "flac")
    stream = out.add_stream(codec, rate=film.sound_rate, layout=LAYOUTS[film.sound.shape[1]])
    if codec == "flac":
        stream.codec_context.format = "s32"
    return stream


def _sound_frames(film: Film, late: Fraction) -> Iterator[av.AudioFrame]:
    """Blocks of 1024 samples whose pts keep the true offset against the pictures (which start at `late`)."""
    assert film.sound is not None
    start = round((Fraction(film.sound_offset_s).limit_denominator(film.sound_rate) + late) * film.sound_rate)
    layout = LAYOUTS[film.sound.shape[1]]
    for at in range(0, len(film.sound), 1024):
        block = np.ascontiguousarray(film.sound[at : at + 1024].T, np.float32)
        frame = av.AudioFrame.from_ndarray(block, format="fltp", layout=layout)
        frame.sample_rate, frame.pts, frame.time_base = film.sound_rate, start + at, Fraction(1, film.sound_rate)
        yield frame


def make_sound(path: Path, sound: Samples, *, rate: int = 48000, codec: str | None = None) -> Path:
    """A sound file alone: WAV, FLAC, MP3, M4A, OGG by name."""
    by_name = {".wav": "pcm_s16le", ".flac": "flac", ".mp3": "libmp3lame", ".m4a": "aac", ".ogg": "libopus", ".opus": "libopus"}
    film = Film(sound=sound, sound_rate=rate, sound_codec=codec or by_name[path.suffix.lower()])
    with av.open(str(path), "w") as out:
        stream = _sound_stream(out, path, film)
        assert stream is not None
        for frame in _sound_frames(film, Fraction(0)):
            out.mux(stream.encode(frame))
        out.mux(stream.encode(None))
    return path


def make_sequence(
    folder: Path, frames: Iterable[RGB], *, pattern: str = "shot.%04d.png", start: int = 1001, skip: Sequence[int] = ()
) -> Path:
    """One picture file a frame, numbered from `start`; numbers in `skip` are left out (a gap). Returns the folder.

    EXR files hold linear light: `frames` are uint8 display values (sRGB) as for every other kind.
    """
    folder.mkdir(parents=True, exist_ok=True)
    for i, frame in enumerate(frames):
        if start + i in skip:
            continue
        write_picture(folder / (pattern % (start + i)), frame)
    return folder


def write_picture(path: Path, frame: RGB) -> None:
    """One picture file by its name: PNG, JPEG, TIFF (8 bit) or EXR (32-bit float, linear)."""
    if path.suffix.lower() == ".exr":
        path.write_bytes(_exr(frame))
        return
    order = cv2.COLOR_RGBA2BGRA if frame.shape[2] == 4 else cv2.COLOR_RGB2BGR
    if not cv2.imwrite(str(path), cv2.cvtColor(frame, order)):
        raise OSError(f"could not write {path}")


def _exr(frame: RGB) -> bytes:
    display = frame[..., :3].astype(np.float32) / 255
    linear = np.where(display <= 0.04045, display / 12.92, ((display + 0.055) / 1.055) ** 2.4).astype(np.float32)
    picture = av.VideoFrame.from_ndarray(np.ascontiguousarray(linear), format="gbrpf32le")
    context = av.CodecContext.create("exr", "w")
    context.width, context.height, context.pix_fmt, context.time_base = frame.shape[1], frame.shape[0], "gbrpf32le", Fraction(1, 24)
    return b"".join(bytes(p) for p in [*context.encode(picture), *context.encode(None)])
