"""Files that are cut, damaged, mislabelled or hostile: one sentence, or as much as is there; never a crash, never half a result."""

from __future__ import annotations

import os
import random
import struct
import subprocess
import sys
import zlib
from pathlib import Path

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from tests.make.films import make_film, make_sequence, make_sound, numbered, read_stamp, tone, write_picture

from shotcrit.errors import MediaError
from shotcrit.media import Movie, open_movie
from shotcrit.media.proxy import build_proxy
from shotcrit.media.sealed import opened

COUNT = 30


def one_sentence(problem: BaseException, path: Path) -> None:
    said = str(problem)
    assert "\n" not in said
    assert str(path.parent) in said
    assert "; " in said or ", " in said, "it should say what to do"
    assert len(said) < 400


def read_all(movie: Movie) -> list[int | None]:
    if (movie.info.width or 0) < 96:
        return [p.index for p in movie.pictures()]
    numbers = [None if p.damaged else read_stamp(p.luma(192)) for p in movie.pictures()]
    sound = movie.sound()
    assert sound is None or np.isfinite(sound.samples).all()
    assert len(numbers) == movie.info.frames
    return numbers


FILMS = {
    "index_first.mp4": {"container_options": {"movflags": "faststart"}, "gop": 10},
    "index_first_prores.mov": {"codec": "prores_ks", "pix_fmt": "yuv422p10le", "container_options": {"movflags": "faststart"}},
    "a.mkv": {"gop": 10},
    "a.webm": {"codec": "libvpx-vp9", "gop": 10},
    "a.avi": {"codec": "mjpeg", "pix_fmt": "yuvj420p"},
    "a.mxf": {"codec": "mpeg2video", "options": {"bf": "0", "g": "10"}},
}


@pytest.mark.parametrize("name", FILMS)
def test_cut_off_anywhere_it_is_measured_up_to_there(tmp_path: Path, name: str) -> None:
    """At 16 places: what opens, opens with whole frames in order, and says that it ended early."""
    whole = make_film(tmp_path / name, numbered(COUNT), sound=tone(1.3), **FILMS[name]).read_bytes()
    assert open_movie(tmp_path / name).info.frames == COUNT
    path, opened = tmp_path / f"cut{Path(name).suffix}", []
    for part in range(1, 17):
        path.write_bytes(whole[: len(whole) * part // 17])
        try:
            movie = open_movie(path)
        except MediaError as problem:
            one_sentence(problem, path)
            continue
        numbers = read_all(movie)
        good = [n for i, n in enumerate(numbers[:-1]) if n is not None and n != i]
        assert good == [], "a frame in the wrong place"
        assert movie.info.frames <= COUNT
        assert movie.info.ended_early is not None
        assert str(path) in movie.info.ended_early
        opened.append(movie.info.frames)
    assert opened == sorted(opened)
    assert len(set(opened)) > 3, "it should follow the cut"


def test_cut_off_before_its_index(tmp_path: Path) -> None:
    whole = make_film(tmp_path / "a.mp4", numbered(COUNT)).read_bytes()
    path = tmp_path / "cut.mp4"
    path.write_bytes(whole[: len(whole) * 2 // 3])
    with pytest.raises(MediaError, match="before its index was written") as caught:
        open_movie(path)
    one_sentence(caught.value, path)


@pytest.mark.parametrize(
    ("name", "content", "said"),
    [
        ("empty.mov", b"", "is empty"),
        ("text.mov", b"INT. LIGHTHOUSE - NIGHT\nThe lamp turns.\n" * 50, "holds text"),
        ("playlist.mov", b"#EXTM3U\n#EXTINF:1,\nhttp://127.0.0.1:9/a.ts\n#EXT-X-ENDLIST\n", "holds text"),
        ("list.mp4", b"ffconcat version 1.0\nfile '/etc/passwd'\n", "holds text"),
        ("noise.mov", random.Random(1).randbytes(20000), "not a movie"),
        ("zeros.mov", bytes(20000), "not a movie"),
        ("start.mkv", b"\x1a\x45\xdf\xa3\x01\x02", "near its start"),
        ("start.avi", b"RIFF\x00\x00\x01\x00AVI ", "near its start"),
        ("text.png", b"no picture at all", "no PNG"),
        ("cut.png", b"\x89PNG\r\n\x1a\n", "cannot be decoded"),
        ("empty.png", b"", "is empty"),
        ("empty.wav", b"", "is empty"),
    ],
)
def test_what_is_no_medium(tmp_path: Path, name: str, content: bytes, said: str) -> None:
    path = tmp_path / name
    path.write_bytes(content)
    with pytest.raises(MediaError, match=said) as caught:
        open_movie(path)
    one_sentence(caught.value, path)


@pytest.mark.parametrize("name", ["none.mov", "none.png", "none.####.png", "no folder/none.mov"])
def test_what_is_not_there(tmp_path: Path, name: str) -> None:
    with pytest.raises(MediaError) as caught:
        open_movie(tmp_path / name)
    one_sentence(caught.value, tmp_path / name)


def test_a_device_is_no_medium() -> None:
    with pytest.raises(MediaError, match="not a plain file"):
        open_movie(Path("/dev/null"))


UNREADABLE = """
import os, sys
from pathlib import Path
from shotcrit.errors import MediaError
from shotcrit.media import open_movie
os.setuid(65534)
try:
    open_movie(Path(sys.argv[1]))
except MediaError as problem:
    sys.exit(0 if "cannot be read" in str(problem) and "permissions" in str(problem) else 1)
sys.exit(2)
"""


@pytest.mark.skipif(os.geteuid() != 0, reason="a file of one's own can only be made unreadable for others as root")
def test_an_unreadable_file(tmp_path: Path) -> None:
    path = make_sound(tmp_path / "a.wav", tone(0.1))
    for folder in (tmp_path, *tmp_path.parents):
        if folder.stat().st_uid == os.getuid() and "pytest" in str(folder):
            folder.chmod(0o755)
    path.chmod(0)
    assert subprocess.run([sys.executable, "-c", UNREADABLE, str(path)]).returncode == 0


@pytest.mark.parametrize("how", [{"codec": "png", "pix_fmt": "rgb24"}, {"codec": "mjpeg", "pix_fmt": "yuvj420p"}])
def test_a_picture_16000_px_wide(tmp_path: Path, how: dict[str, str]) -> None:
    path = make_film(tmp_path / "wide.mov", [np.zeros((16, 16000, 3), np.uint8)] * 2, **how)
    with pytest.raises(MediaError, match="16000 x 16 px") as caught:
        open_movie(path)
    one_sentence(caught.value, path)


def png_bomb(width: int, height: int) -> bytes:
    """A valid small file that says it unpacks to a huge picture."""

    def chunk(kind: bytes, data: bytes) -> bytes:
        return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))

    header = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", header) + chunk(b"IDAT", zlib.compress(bytes(100_000))) + chunk(b"IEND", b"")


@pytest.mark.parametrize("size", [(60000, 60000), (16000, 100), (2**31 - 1, 2**31 - 1), (0, 10)])
def test_a_decompression_bomb(tmp_path: Path, size: tuple[int, int]) -> None:
    path = tmp_path / "bomb.png"
    path.write_bytes(png_bomb(*size))
    with pytest.raises(MediaError) as caught:
        open_movie(path)
    one_sentence(caught.value, path)


def test_a_bomb_in_the_middle_of_a_run_is_a_damaged_picture(tmp_path: Path) -> None:
    make_sequence(tmp_path, numbered(4))
    (tmp_path / "shot.1003.png").write_bytes(png_bomb(60000, 60000))
    assert [p.damaged for p in open_movie(tmp_path).pictures()] == [False, False, True, False]


def test_a_picture_of_another_size_in_a_run_is_brought_to_the_first(tmp_path: Path) -> None:
    make_sequence(tmp_path, numbered(3))
    write_picture(tmp_path / "shot.1002.png", next(numbered(1, size=(96, 54), first=1)))
    assert [(p.rgb().shape, p.luma(96).shape, read_stamp(p.luma(192))) for p in open_movie(tmp_path).pictures()] == [
        ((108, 192, 3), (54, 96), i) for i in range(3)
    ]


def test_damage_in_the_middle_does_not_move_the_frames(tmp_path: Path) -> None:
    """Every picture stands alone in ProRes: two that are overwritten are marked, the others keep their places."""
    path = make_film(tmp_path / "a.mov", numbered(COUNT), codec="prores_ks", pix_fmt="yuv422p10le")
    data = bytearray(path.read_bytes())
    starts = [i for i in range(len(data)) if data[i : i + 4] == b"icpf"]
    for hurt in (11, 12):
        data[starts[hurt] : starts[hurt] + 400] = bytes(400)
    path.write_bytes(data)
    pictures = [(p.index, p.damaged, read_stamp(p.luma(192))) for p in open_movie(path).pictures()]
    wrong = [i for i, damaged, number in pictures if not damaged and number != i]
    assert wrong == []
    assert len(pictures) in (COUNT, COUNT - 2)


MUTANTS = {name: FILMS[name] for name in ("index_first.mp4", "a.mkv", "a.avi")}


@pytest.fixture(scope="module")
def seeds(tmp_path_factory: pytest.TempPathFactory) -> dict[str, bytes]:
    folder = tmp_path_factory.mktemp("seeds")
    made = {n: make_film(folder / n, numbered(8, size=(96, 54)), sound=tone(0.3), **how).read_bytes() for n, how in MUTANTS.items()}
    made["a.wav"] = make_sound(folder / "a.wav", tone(0.05)).read_bytes()
    for kind in ("png", "exr", "tif", "jpg"):
        write_picture(folder / f"a.{kind}", next(numbered(1, size=(48, 27))))
        made[f"a.{kind}"] = (folder / f"a.{kind}").read_bytes()
    return made


@pytest.mark.parametrize("name", [*MUTANTS, "a.wav", "a.png", "a.exr", "a.tif", "a.jpg"])
@settings(max_examples=12, suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow])
@given(data=st.data())
def test_mutated_bytes_give_a_sentence_or_a_movie(tmp_path: Path, seeds: dict[str, bytes], name: str, data: st.DataObject) -> None:
    mutant = bytearray(seeds[name])
    for at in data.draw(st.lists(st.integers(0, len(mutant) - 1), min_size=1, max_size=12)):
        mutant[at] = data.draw(st.integers(0, 255))
    head = data.draw(st.lists(st.integers(0, min(199, len(mutant) - 1)), max_size=3))
    for at in head:
        mutant[at] ^= 1 << data.draw(st.integers(0, 7))
    path = tmp_path / name
    path.write_bytes(mutant)
    try:
        read_all(open_movie(path))
    except MediaError as problem:
        one_sentence(problem, path)


@pytest.mark.skipif(os.geteuid() != 0, reason="a small disk can only be mounted as root")
def test_a_full_disk_leaves_only_whole_pictures(tmp_path: Path) -> None:
    small = tmp_path / "small"
    small.mkdir()
    if subprocess.run(["mount", "-t", "tmpfs", "-o", "size=128k", "tmpfs", str(small)], capture_output=True).returncode:
        pytest.skip("a small disk cannot be mounted here")
    try:
        movie = open_movie(make_film(tmp_path / "a.mp4", numbered(COUNT)))
        with pytest.raises(MediaError, match=r"full disk.*make room"):
            build_proxy(movie, small / "p")
        made = list((small / "p").iterdir())
        assert 0 < len(made) < COUNT
        assert all(p.suffix == ".jpg" and (opened(p.read_bytes()) or b"")[-2:] == b"\xff\xd9" for p in made)
    finally:
        subprocess.run(["umount", "-l", str(small)], check=True)


@pytest.mark.parametrize(("ticks", "step", "how"), [(0x7FFFFFFF, None, "less than a 1000th of a second"), (None, 0x0FFFFFFF, "s, which")])
def test_time_stamps_that_no_movie_has_are_refused(tmp_path: Path, ticks: int | None, step: int | None, how: str) -> None:
    """Such a file was said to run at 1,000 pictures a second, with a `must` about that; ISO/IEC 14496-12, 8.4.2 and 8.6.1.2."""
    path = make_film(tmp_path / "kite.mp4", numbered(COUNT))
    data = bytearray(path.read_bytes())
    if ticks is not None:
        struct.pack_into(">I", data, data.find(b"mdhd") + 16, ticks)
    if step is not None:
        struct.pack_into(">I", data, data.find(b"stts") + 16, step)
    path.write_bytes(data)
    with pytest.raises(MediaError, match="time stamps are damaged") as problem:
        open_movie(path)
    one_sentence(problem.value, path)
    assert how in str(problem.value)
