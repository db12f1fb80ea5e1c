"""Runs of picture files: found by pattern, folder or one of them; in order; gaps told in one sentence."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import cv2
import numpy as np
import pytest
from tests.make.films import faded, make_sequence, numbered, read_stamp, texture, write_picture

from shotcrit.errors import MediaError
from shotcrit.media import open_movie
from shotcrit.media.picture_files import plain_stem

KINDS = ["png", "jpg", "jpeg", "tif", "tiff", "exr"]


def numbers(movie: object, start: int = 0) -> list[int | None]:
    return [read_stamp(p.luma(192)) for p in movie.pictures(start)]  # type: ignore[attr-defined]


@pytest.mark.parametrize("kind", KINDS)
def test_every_kind_in_order_from_anywhere(tmp_path: Path, kind: str) -> None:
    folder = make_sequence(tmp_path / "run", numbered(12), pattern=f"shot.%04d.{kind}")
    movie = open_movie(folder, rate=Fraction(25))
    assert (movie.info.frames, movie.info.rate, movie.info.width, movie.info.height) == (12, 25, 192, 108)
    assert movie.info.name == f"shot.####.{kind}"
    assert movie.info.remarks == ()
    for start in (0, 5, 11):
        assert numbers(movie, start) == list(range(start, 12))


@pytest.mark.parametrize("name", ["shot.####.png", "shot.%04d.png", "shot.#.png", "shot.1003.png", "."])
def test_ways_to_name_a_run(tmp_path: Path, name: str) -> None:
    make_sequence(tmp_path, numbered(5))
    (tmp_path / "notes.txt").write_text("not a picture")
    write_picture(tmp_path / "reference.png", texture(64, 36))
    movie = open_movie(tmp_path / name)
    assert numbers(movie) == [0, 1, 2, 3, 4]


def test_numbers_are_numbers_not_text(tmp_path: Path) -> None:
    make_sequence(tmp_path, numbered(4), pattern="a%d.png", start=8)
    assert numbers(open_movie(tmp_path)) == [0, 1, 2, 3]


def test_frames_count_from_the_number_in_the_name(tmp_path: Path) -> None:
    make_sequence(tmp_path, numbered(3), skip=(1002,))
    info = open_movie(tmp_path).info
    assert (info.first_frame, info.numbered_from, info.frames) == (1001, 1001, 3)
    info = open_movie(tmp_path, first_frame=1).info
    assert (info.first_frame, info.numbered_from) == (1, 1001)


@pytest.mark.parametrize(("pattern", "start", "shown"), [("shot_%08d.png", 20260315, 1), ("%04d.png", 0, 0), ("a.%d.png", 77, 77)])
def test_a_number_in_a_name_is_a_frame_or_a_date(tmp_path: Path, pattern: str, start: int, shown: int) -> None:
    assert open_movie(make_sequence(tmp_path, numbered(2), pattern=pattern, start=start)).info.first_frame == shown


@pytest.mark.parametrize(
    ("name", "stem"),
    [("shot.####.png", "shot"), ("lantern_040_%04d.exr", "lantern_040"), ("a.####.left.png", "a_left"), ("####.png", ""), ("100%done.mov", "100%done"),
     ("lantern_040.mov", "lantern_040")],
)  # fmt: skip
def test_the_name_without_what_stands_for_numbers(name: str, stem: str) -> None:
    assert plain_stem(name) == stem


def test_a_single_picture(tmp_path: Path) -> None:
    write_picture(tmp_path / "still.png", next(numbered(1, first=77)))
    movie = open_movie(tmp_path / "still.png")
    assert movie.info.frames == 1
    assert numbers(movie) == [77]


def test_a_gap_is_told_and_filled_and_marked(tmp_path: Path) -> None:
    make_sequence(tmp_path, numbered(10), skip=(1003, 1004, 1007))
    movie = open_movie(tmp_path)
    (sentence,) = movie.info.remarks
    assert "shot.####.png lacks 1003 to 1004, 1007" in sentence
    assert movie.info.frames == 10
    assert [(p.index, read_stamp(p.luma(192)), p.damaged) for p in movie.pictures()] == [
        (0, 0, False), (1, 1, False), (2, 1, True), (3, 1, True), (4, 4, False),
        (5, 5, False), (6, 5, True), (7, 7, False), (8, 8, False), (9, 9, False),
    ]  # fmt: skip
    assert [(p.index, read_stamp(p.luma(192))) for p in movie.pictures(3, 5)] == [(3, 1), (4, 4)]


def test_a_damaged_picture_is_marked_and_the_rest_goes_on(tmp_path: Path) -> None:
    make_sequence(tmp_path, numbered(6))
    (tmp_path / "shot.1003.png").write_bytes(b"\x89PNG and then nonsense")
    (tmp_path / "shot.1006.png").write_bytes(b"")
    assert [(read_stamp(p.luma(192)), p.damaged) for p in open_movie(tmp_path).pictures()] == [
        (0, False), (1, False), (1, True), (3, False), (4, False), (4, True),
    ]  # fmt: skip


def test_exr_is_linear_light(tmp_path: Path) -> None:
    """What was sRGB when drawn comes back as it was (IEC 61966-2-1), to half-float precision."""
    drawn = np.repeat(np.arange(256, dtype=np.uint8)[None, :, None], 16, axis=0).repeat(3, axis=2)
    write_picture(tmp_path / "ramp.1.exr", drawn)
    picture = next(open_movie(tmp_path / "ramp.1.exr").pictures())
    assert np.abs(picture.rgb().astype(int) - drawn).max() <= 1


@pytest.mark.parametrize("kind", ["png", "tif"])
def test_sixteen_bits_and_alpha(tmp_path: Path, kind: str) -> None:
    deep = (texture(192, 108).astype(np.uint16) << 8) + 128
    cv2.imwrite(str(tmp_path / f"deep.1.{kind}"), cv2.cvtColor(deep, cv2.COLOR_RGB2BGR))
    assert np.abs(next(open_movie(tmp_path / f"deep.1.{kind}").pictures()).rgb().astype(int) - (deep >> 8)).max() <= 1
    write_picture(tmp_path / f"clear.1.{kind}", next(faded([texture(192, 108)], 0.0)))
    clear = next(open_movie(tmp_path / f"clear.1.{kind}").pictures()).rgb()
    assert (clear[:, 96:] == 128).all()
    assert np.abs(clear[:, :96].astype(int) - texture(192, 108)[:, :96]).max() <= 1


@pytest.mark.parametrize(
    ("made", "asked", "said"),
    [
        ([], ".", "holds no numbered pictures"),
        ([], "none.####.png", "no picture is called"),
        ([], "none.0001.png", "does not exist"),
        (["a.1.png", "a.2.png", "b.1.png", "b.2.png"], ".", "more than one run"),
        (["a.1.png", "a.999999999.png"], ".", "lacks 999999997"),
    ],
)
def test_what_is_no_run_is_said(tmp_path: Path, made: list[str], asked: str, said: str) -> None:
    for name in made:
        write_picture(tmp_path / name, texture(32, 18))
    with pytest.raises(MediaError, match=said) as caught:
        open_movie(tmp_path / asked)
    assert "\n" not in str(caught.value)


def test_the_hash_knows_names_and_contents(tmp_path: Path) -> None:
    one = open_movie(make_sequence(tmp_path / "a", numbered(3))).info.sha256
    assert one == open_movie(make_sequence(tmp_path / "b", numbered(3))).info.sha256
    assert one != open_movie(make_sequence(tmp_path / "c", numbered(3), start=1002)).info.sha256
    assert one != open_movie(make_sequence(tmp_path / "d", numbered(3, seed=9))).info.sha256
