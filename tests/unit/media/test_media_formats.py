"""Every codec and container: each frame is itself, in order, at its time, from the start and from anywhere."""

from __future__ import annotations

import hashlib
from fractions import Fraction
from pathlib import Path
from typing import Any

import av
import numpy as np
import pytest
from tests.make.films import faded, make_film, numbered, read_stamp, stamp, tone

from shotcrit.media import open_movie

COUNT = 26
SIZE = (256, 144)

FORMATS: list[tuple[str, dict[str, Any]]] = [
    ("h264.mp4", {}),
    ("h264.mov", {}),
    ("h264.mkv", {}),
    ("h264.avi", {}),
    ("h264.mxf", {"options": {"bf": "0"}}),
    ("h264_open_gop.mp4", {"options": {"x264-params": "open-gop=1:keyint=8:bframes=3:min-keyint=8"}}),
    ("h264_10bit.mov", {"pix_fmt": "yuv420p10le"}),
    ("h264_interlaced.mp4", {"options": {"x264-params": "interlaced=1"}}),
    ("hevc.mp4", {"codec": "libx265"}),
    ("hevc_open_gop.mkv", {"codec": "libx265", "options": {"x265-params": "log-level=none:keyint=8:min-keyint=8:open-gop=1"}}),
    ("hevc_10bit.mov", {"codec": "libx265", "pix_fmt": "yuv420p10le"}),
    ("prores.mov", {"codec": "prores_ks", "pix_fmt": "yuv422p10le"}),
    ("prores.mkv", {"codec": "prores_ks", "pix_fmt": "yuv422p10le"}),
    ("dnxhr.mov", {"codec": "dnxhd", "pix_fmt": "yuv422p", "options": {"profile": "dnxhr_sq"}}),
    ("dnxhr.mxf", {"codec": "dnxhd", "pix_fmt": "yuv422p", "options": {"profile": "dnxhr_sq"}}),
    ("mpeg4.mp4", {"codec": "mpeg4"}),
    ("mpeg4.avi", {"codec": "mpeg4"}),
    ("mpeg4_b.mp4", {"codec": "mpeg4", "options": {"bf": "2"}}),
    ("mpeg4_b.avi", {"codec": "mpeg4", "options": {"bf": "2"}}),
    ("vp9.webm", {"codec": "libvpx-vp9"}),
    (
        "vp9_hidden.mkv",
        {"codec": "libvpx-vp9", "options": {"auto-alt-ref": "1", "lag-in-frames": "16", "deadline": "good", "cpu-used": "5"}},
    ),
    ("av1.mp4", {"codec": "libsvtav1", "crf": 10}),
    ("av1.webm", {"codec": "libsvtav1", "crf": 10}),
    ("mjpeg.mov", {"codec": "mjpeg", "pix_fmt": "yuvj420p"}),
    ("mjpeg.avi", {"codec": "mjpeg", "pix_fmt": "yuvj420p"}),
]


def decoded_count(path: Path) -> int:
    """The slow, obvious way: decode all of it with nothing of ours."""
    with av.open(str(path)) as container:
        return sum(1 for _ in container.decode(video=0))


@pytest.mark.parametrize(("name", "how"), FORMATS, ids=[n for n, _ in FORMATS])
def test_each_frame_is_itself(tmp_path: Path, name: str, how: dict[str, Any]) -> None:
    path = make_film(tmp_path / name, numbered(COUNT, size=SIZE), sound=tone(1.1), **{"gop": 8, **how})
    movie = open_movie(path)
    assert movie.info.frames == decoded_count(path) == COUNT
    assert (movie.info.rate, movie.info.variable_rate) == (Fraction(24), False)
    assert movie.clock.edges == tuple(Fraction(i, 24) for i in range(COUNT + 1))
    assert (movie.info.width, movie.info.height) == SIZE
    assert movie.info.ended_early is None
    assert [read_stamp(p.luma(192)) for p in movie.pictures()] == list(range(COUNT))
    assert [read_stamp(p.rgb(96)) for p in movie.pictures()] == list(range(COUNT))
    assert movie.info.sound is not None
    assert movie.info.sound.offset_s == 0
    assert float(movie.info.sound.duration_s) == pytest.approx(1.1, abs=0.03)


@pytest.mark.parametrize(("name", "how"), FORMATS, ids=[n for n, _ in FORMATS])
def test_from_anywhere_it_is_the_same_picture(tmp_path: Path, name: str, how: dict[str, Any]) -> None:
    movie = open_movie(make_film(tmp_path / name, numbered(COUNT, size=SIZE), **{"gop": 8, **how}))
    straight = [p.rgb().copy() for p in movie.pictures()]
    for start in range(COUNT):
        got = list(movie.pictures(start, start + 2))
        assert [p.index for p in got] == list(range(start, min(start + 2, COUNT)))
        for picture in got:
            np.testing.assert_array_equal(picture.rgb(), straight[picture.index])


@pytest.mark.parametrize("rate", ["24000/1001", "24", "25", "30000/1001", "30", "48", "50", "60000/1001", "60", "12", "15"])
@pytest.mark.parametrize("ending", [".mp4", ".mkv", ".avi"])
def test_rates_are_exact_whatever_the_container_rounds_to(tmp_path: Path, rate: str, ending: str) -> None:
    exact = Fraction(rate)
    codec = {"codec": "mjpeg", "pix_fmt": "yuvj420p"}
    movie = open_movie(make_film(tmp_path / f"a{ending}", numbered(70, size=(96, 54)), rate=exact, **codec))
    assert (movie.info.rate, movie.info.variable_rate) == (exact, False)
    assert movie.clock.stop(69) == 70 / exact


@pytest.mark.parametrize("ending", [".mp4", ".mov", ".mkv"])
def test_variable_rate_keeps_each_time(tmp_path: Path, ending: str) -> None:
    durations = [Fraction(n, 48) for n in (1, 2, 2, 6, 1, 3, 2, 2, 4, 1, 2, 2)] * 2
    movie = open_movie(make_film(tmp_path / f"a{ending}", numbered(24), durations=durations))
    starts = [sum(durations[:i], Fraction(0)) for i in range(24)]
    assert movie.info.variable_rate
    assert movie.info.rate == 24
    tick = Fraction(1, 1000) if ending == ".mkv" else 0
    assert all(abs(a - b) <= tick for a, b in zip(movie.clock.edges, starts, strict=False))
    assert [read_stamp(p.luma(192)) for p in movie.pictures(5)] == list(range(5, 24))


def test_one_frame(tmp_path: Path) -> None:
    movie = open_movie(make_film(tmp_path / "one.mp4", numbered(1, first=9)))
    assert (movie.info.frames, movie.info.rate, movie.clock.duration) == (1, 24, Fraction(1, 24))
    assert [read_stamp(p.luma(192)) for p in movie.pictures()] == [9]


def test_a_cut_made_by_an_edit_list_hides_what_it_cuts(tmp_path: Path) -> None:
    """A stream copy from the middle of a GOP keeps the pictures before it for decoding and hides them with an edit list."""
    whole = make_film(tmp_path / "whole.mp4", numbered(48), gop=24)
    cut = tmp_path / "cut.mp4"
    with av.open(str(whole)) as source, av.open(str(cut), "w") as out:
        stream = source.streams.video[0]
        copy = out.add_stream_from_template(stream)
        begin = 7 * 512
        for packet in source.demux(stream):
            if packet.dts is not None:
                packet.pts, packet.dts, packet.stream = packet.pts - begin, packet.dts - begin, copy
                out.mux(packet)
    movie = open_movie(cut)
    numbers = [read_stamp(p.luma(192)) for p in movie.pictures()]
    assert movie.info.frames == decoded_count(cut) == len(numbers)
    assert numbers == list(range(numbers[0], 48))
    assert movie.info.ended_early is None
    assert [read_stamp(p.luma(192)) for p in movie.pictures(20, 22)] == numbers[20:22]


@pytest.mark.parametrize("degrees", [90, 180, 270])
def test_rotation_is_undone(tmp_path: Path, degrees: int) -> None:
    upright = list(numbered(4, size=(192, 108)))
    stored = [np.ascontiguousarray(np.rot90(f, -degrees // 90)) for f in upright]
    movie = open_movie(make_film(tmp_path / "turned.mp4", stored, rotation=degrees, crf=5))
    assert (movie.info.width, movie.info.height) == (192, 108)
    for picture, drawn in zip(movie.pictures(), upright, strict=True):
        assert read_stamp(picture.luma(192)) == picture.index
        assert np.abs(picture.rgb().astype(int) - drawn).mean() < 6


@pytest.mark.parametrize(
    ("stored", "sar", "expected"),
    [((96, 108), Fraction(2), (192, 108)), ((96, 108), Fraction(4, 3), (128, 108)), ((192, 54), Fraction(1, 2), (192, 108))],
)
def test_pixels_are_made_square(tmp_path: Path, stored: tuple[int, int], sar: Fraction, expected: tuple[int, int]) -> None:
    movie = open_movie(make_film(tmp_path / "wide.mp4", numbered(3, size=stored), sar=sar))
    assert (movie.info.width, movie.info.height) == expected
    for picture in movie.pictures():
        assert picture.rgb().shape == (expected[1], expected[0], 3)
        assert picture.luma(48).shape == (round(48 * expected[1] / expected[0]), 48)


PATCHES = np.array(
    [[235, 30, 30], [30, 200, 40], [40, 50, 220], [250, 250, 250], [5, 5, 5], [128, 128, 128], [220, 200, 60], [90, 40, 130]]
)


def patches(size: tuple[int, int] = (256, 96)) -> np.ndarray:
    picture = np.zeros((size[1], size[0], 3), np.uint8)
    step = size[0] // len(PATCHES)
    for i, colour in enumerate(PATCHES):
        picture[:, i * step : (i + 1) * step] = colour
    return picture


def patch_means(rgb: np.ndarray) -> np.ndarray:
    step = rgb.shape[1] // len(PATCHES)
    rows = slice(rgb.shape[0] // 4, 3 * rgb.shape[0] // 4)
    return np.array([rgb[rows, i * step + step // 4 : (i + 1) * step - step // 4].reshape(-1, 3).mean(axis=0) for i in range(len(PATCHES))])


COLOURS = [
    ("bt709", {"matrix": "bt709"}, (256, 96)),
    ("bt601", {"matrix": "bt601"}, (256, 96)),
    ("full range", {"matrix": "bt709", "full_range": True}, (256, 96)),
    ("full range 601", {"matrix": "bt601", "full_range": True}, (256, 96)),
    ("unsaid and small: 601", {"matrix": None}, (256, 96)),
    ("10 bit", {"pix_fmt": "yuv422p10le"}, (256, 96)),
    ("4:4:4", {"pix_fmt": "yuv444p"}, (256, 96)),
    ("prores", {"codec": "prores_ks", "pix_fmt": "yuv422p10le"}, (256, 96)),
    ("mjpeg", {"codec": "mjpeg", "pix_fmt": "yuvj444p", "matrix": "bt601", "options": {"qmin": "1", "qmax": "1"}}, (256, 96)),
    ("png in mov", {"codec": "png", "pix_fmt": "rgb24", "matrix": None}, (256, 96)),
]


@pytest.mark.parametrize(("name", "how", "size"), COLOURS, ids=[c[0] for c in COLOURS])
@pytest.mark.parametrize("width", [None, 128])
def test_colours_are_those_that_were_drawn(
    tmp_path: Path, name: str, how: dict[str, Any], size: tuple[int, int], width: int | None
) -> None:
    """Within 3 steps of 255; the wrong matrix is 10 to 30 off on these patches, the wrong range 16."""
    path = make_film(tmp_path / "c.mov", [patches(size)] * 2, **{"crf": 2, **how})
    picture = next(open_movie(path).pictures())
    assert np.abs(patch_means(picture.rgb(width)) - PATCHES).max() <= 3


@pytest.mark.parametrize(("name", "how", "size"), COLOURS, ids=[c[0] for c in COLOURS])
def test_luma_is_the_same_whatever_the_range(tmp_path: Path, name: str, how: dict[str, Any], size: tuple[int, int]) -> None:
    """Y' by its definition (ITU-R BT.709-6 3.2, BT.601-7 2.5.1) from the colours drawn."""
    path = make_film(tmp_path / "c.mov", [patches(size)] * 2, **{"crf": 2, **how})
    weights = [0.299, 0.587, 0.114] if how.get("matrix", "bt709") != "bt709" else [0.2126, 0.7152, 0.0722]
    if how.get("codec") == "png":
        weights = [0.2126, 0.7152, 0.0722]
    grey = next(open_movie(path).pictures()).luma(128)
    means = patch_means(np.repeat(grey[..., None], 3, axis=2))[:, 0]
    assert np.abs(means - PATCHES @ np.array(weights)).max() <= 2


@pytest.mark.parametrize(
    "how", [{"codec": "prores_ks", "pix_fmt": "yuva444p10le"}, {"codec": "png", "pix_fmt": "rgba"}, {"codec": "qtrle", "pix_fmt": "argb"}]
)
@pytest.mark.parametrize("alpha", [0.0, 0.5])
def test_transparent_is_over_mid_grey(tmp_path: Path, how: dict[str, Any], alpha: float) -> None:
    drawn = patches()
    movie = open_movie(make_film(tmp_path / "a.mov", faded([drawn] * 2, alpha), **how))
    expected = PATCHES.astype(float)
    expected[4:] = expected[4:] * alpha + 128 * (1 - alpha)
    picture = next(movie.pictures())
    assert np.abs(patch_means(picture.rgb()) - expected).max() <= 3
    grey = patch_means(np.repeat(picture.luma(256)[..., None], 3, axis=2))[:, 0]
    assert np.abs(grey - expected @ np.array([0.2126, 0.7152, 0.0722])).max() <= 3


def test_conversions_are_shared(tmp_path: Path) -> None:
    picture = next(open_movie(make_film(tmp_path / "a.mp4", numbered(1))).pictures())
    assert picture.luma(96) is picture.luma(96)
    assert picture.rgb() is picture.rgb(192)


def test_time_code_is_told(tmp_path: Path) -> None:
    for name, code in (("a.mov", "01:00:00:12"), ("b.mov", "00:59:59;28")):
        rate = Fraction(30000, 1001) if ";" in code else Fraction(24)
        path = make_film(tmp_path / name, numbered(3), timecode=code, rate=rate)
        assert open_movie(path).info.timecode == code


def test_first_frame_name_and_hash(tmp_path: Path) -> None:
    path = make_film(tmp_path / "a.mp4", [stamp(np.zeros((108, 192, 3), np.uint8), 5)])
    info = open_movie(path, first_frame=1001).info
    expected = hashlib.sha256(path.read_bytes()).hexdigest()
    assert (info.first_frame, info.name, info.sha256) == (1001, "a.mp4", expected)


@pytest.mark.parametrize(("how", "told"), [({"options": {"x264-params": "interlaced=1"}}, True), ({}, False)])
def test_interlaced_pictures_are_named(tmp_path: Path, how: dict[str, Any], told: bool) -> None:
    remarks = open_movie(make_film(tmp_path / "film.mp4", numbered(4), **how)).info.remarks
    assert ("interlaced" in " ".join(remarks)) is told
