"""Inputs without end or measure: each is refused in a sentence that names the bound, before it costs time or memory."""

from __future__ import annotations

import json
import os
import struct
import time
import wave
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from tests.make.films import make_film, texture
from tests.make.scenes import write_usd

from shotcrit.deliver.crit_page import read_answers
from shotcrit.elsewhere.bounds import Bounds
from shotcrit.errors import InputError, ShotcritError
from shotcrit.measuring.measure import Workbench, measure
from shotcrit.measuring.request import MeasureRequest, request_from_files
from shotcrit.media import open_movie
from shotcrit.plain_file import read_plain
from shotcrit.readings.cast import parse_cast, read_cast
from shotcrit.readings.marks_csv import read_marks_csv
from shotcrit.readings.picture.acting import measure_marks
from shotcrit.readings.scene import usd
from shotcrit.readings.scene.model import Sampling
from shotcrit.readings.scene.read import read_scene
from shotcrit.readings.sound.textgrid import parse_textgrid
from shotcrit.store.cache import open_cache
from shotcrit.store.crit_file import CritFile
from shotcrit.store.person import read_habits

SECONDS = 30
"""No input may take longer, in seconds of work."""
PATIENCE_S = 120
"""The same by the clock, on a machine that has other work: what waits for ever waits longer."""
ONE_SECOND = Sampling(np.arange(24) / 24, 24.0, 1)
READERS: dict[str, Callable[[Path], Any]] = {
    "movie.mov": open_movie,
    "sound.wav": open_movie,
    "picture.0001.png": open_movie,
    "cast.json": read_cast,
    "marks.csv": read_marks_csv,
    "lines.txt": lambda path: request_from_files(path, lines=path),
    "track.TextGrid": lambda path: request_from_files(path, lines=path),
    "scene.gltf": lambda path: read_scene(path, ONE_SECOND),
    "scene.usda": lambda path: read_scene(path, ONE_SECOND),
    "scene.bvh": lambda path: read_scene(path, ONE_SECOND),
    "shot.crit": CritFile.open,
    "answers.json": read_answers,
}


@pytest.fixture(autouse=True)
def quick() -> Iterator[None]:
    begun, worked = time.monotonic(), time.process_time()
    yield
    assert time.process_time() - worked < SECONDS
    assert time.monotonic() - begun < PATIENCE_S


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no pipes with names here")
@pytest.mark.parametrize("name", READERS)
def test_a_pipe_and_a_device_are_refused_and_not_waited_for(name: str, tmp_path: Path) -> None:
    pipe, device = tmp_path / name, tmp_path / f"zero-{name}"
    os.mkfifo(pipe)
    device.symlink_to("/dev/zero")
    for path in (pipe, device):
        with pytest.raises(ShotcritError, match=r"not a (plain )?file|no file|not there|a pipe or a device"):
            READERS[name](path)


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no pipes with names here")
def test_habits_in_a_pipe_are_none(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "habits.json")
    assert read_habits(tmp_path / "habits.json").settings == {}


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no pipes with names here")
def test_a_pipe_among_pictures_is_a_picture_that_is_missing(tmp_path: Path) -> None:
    from tests.make.films import write_picture  # noqa: PLC0415

    for number in (1, 3):
        write_picture(tmp_path / f"shot.{number:04d}.png", texture(64, 36))
    os.mkfifo(tmp_path / "shot.0002.png")
    assert [picture.damaged for picture in open_movie(tmp_path).pictures()] == [False, True, False]


def test_no_more_is_read_than_a_file_may_have(tmp_path: Path) -> None:
    (tmp_path / "a").write_bytes(b"x" * 100)
    assert len(read_plain(tmp_path / "a", most=100, over="", give="")) == 100
    with pytest.raises(InputError, match="over 0 kB, which is much; give less"):
        read_plain(tmp_path / "a", most=99, over="which is much; give less", give="")


@pytest.mark.parametrize(
    ("cast", "bound"),
    [
        ({"characters": [{"name": f"p{i}"} for i in range(300_000)]}, "200"),
        ({"contacts": [{"a": "a", "b": "b", "first": 1, "last": 2}] * 300_000}, "2,000"),
        ({"props": [{"name": "kite", "marks": {"tail": [{"frame": i, "x": 0, "y": 0} for i in range(300_000)]}}]}, "200,000"),
        ({"props": [{"name": "kite", "marks": {f"m{i}": [] for i in range(300_000)}}]}, "2,000"),
    ],
)
def test_a_cast_without_measure_names_the_bound(cast: dict[str, Any], bound: str, tmp_path: Path) -> None:
    path = tmp_path / "cast.json"
    path.write_text(json.dumps(cast))
    with pytest.raises(InputError, match=f"{bound}( in [0-9,]+)? are the most"):
        read_cast(path)


def test_as_many_places_as_a_cast_may_have_are_checked_quickly() -> None:
    places = [{"frame": i, "x": 0.5, "y": 0.5} for i in range(100_000)]
    assert len(parse_cast({"props": [{"name": "kite", "marks": {"tail": places}}]}, name="it").props[0].marks["tail"]) == 100_000


def test_a_number_of_thousands_of_digits_is_told(tmp_path: Path) -> None:
    path = tmp_path / "cast.json"
    path.write_text('{"metres_per_unit": ' + "9" * 5000 + "}")
    with pytest.raises(InputError, match="thousands of digits"):
        read_cast(path)


def test_a_textgrid_without_measure_names_the_bound() -> None:
    rows = "".join(f'{i}\n{i + 1}\n"word"\n' for i in range(200_000))
    text = (
        f'File type = "ooTextFile"\nObject class = "TextGrid"\n\n0\n200000\n<exists>\n1\n"IntervalTier"\n"words"\n0\n200000\n200000\n{rows}'
    )
    with pytest.raises(InputError, match="400,000 are the most"):
        parse_textgrid(text)


def test_a_textgrid_of_an_hour_is_read_in_time() -> None:
    words = "".join(f'{i / 2}\n{(i + 1) / 2}\n"word"\n' for i in range(7200))
    phones = "".join(f'{i / 10}\n{(i + 1) / 10}\n"AH"\n' for i in range(36_000))
    head = 'File type = "ooTextFile"\nObject class = "TextGrid"\n\n0\n3600\n<exists>\n2\n'
    tiers = f'"IntervalTier"\n"words"\n0\n3600\n7200\n{words}"IntervalTier"\n"phones"\n0\n3600\n36000\n{phones}'
    spoken = parse_textgrid(head + tiers).spoken
    assert (len(spoken.words), len(spoken.phones)) == (7200, 36_000)
    assert spoken.phones[-1].word == 7199


def test_sound_at_one_sample_a_second_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "slow.wav"
    with wave.open(str(path), "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(2)
        file.setframerate(1)
        file.writeframes(bytes(2 * 36_000))
    with pytest.raises(ShotcritError, match="sound of 1 sample"):
        open_movie(path)


@pytest.mark.parametrize("count", [500_000])
def test_a_gltf_of_half_a_million_nodes_names_the_bound(count: int, tmp_path: Path) -> None:
    path = tmp_path / "many.gltf"
    path.write_text(json.dumps({"asset": {"version": "2.0"}, "nodes": [{}] * count}))
    with pytest.raises(InputError, match="more than the 166,666 nodes that can be read over 24 frames"):
        read_scene(path, ONE_SECOND)


def test_a_chain_of_nodes_is_followed_to_its_end_or_refused(tmp_path: Path) -> None:
    path = tmp_path / "chain.gltf"
    nodes: list[dict[str, Any]] = [{"name": f"n{i}", "translation": [1, 0, 0], "children": [i + 1]} for i in range(20_000)]
    path.write_text(json.dumps({"asset": {"version": "2.0"}, "nodes": [*nodes, {"name": "last"}]}))
    assert read_scene(path, ONE_SECOND).nodes["last"][0, 0, 3] == 20_000


def test_a_glb_whose_chunk_ends_after_the_file_is_told(tmp_path: Path) -> None:
    path = tmp_path / "short.glb"
    path.write_bytes(struct.pack("<4sIII4s", b"glTF", 2, 100, 2**31, b"JSON") + b"{}")
    with pytest.raises(InputError, match="cut short"):
        read_scene(path, ONE_SECOND)


def test_a_stage_of_references_to_references_names_the_bound(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(usd, "BOUNDS", Bounds(memory=usd.BOUNDS.memory, patience_s=3))
    bomb = ['#usda 1.0\n( defaultPrim = "a0" )\ndef Xform "a0"\n{\n    def Xform "x"\n    {\n    }\n}\n']
    for level in range(1, 10):
        inner = "".join(f'    def Xform "c{i}" ( references = </a{level - 1}> )\n    {{\n    }}\n' for i in range(12))
        bomb.append(f'def Xform "a{level}"\n{{\n{inner}}}\n')
    path = tmp_path / "bomb.usda"
    path.write_text("".join(bomb))
    with pytest.raises(InputError, match=r"takes more than (3 s|2 GB)|nodes that can be read"):
        read_scene(path, ONE_SECOND)


@pytest.mark.parametrize("size", [(320, 20), (1280, 132), (20, 800)])
def test_long_strips_are_measured(size: tuple[int, int], tmp_path: Path) -> None:
    film = make_film(tmp_path / "strip.mov", (np.roll(texture(*size), 2 * i, axis=1) for i in range(6)), codec="png", pix_fmt="rgb24")
    measured = measure(MeasureRequest(film), Workbench(open_cache(root=tmp_path / "cache")))
    assert measured.readings.picture is not None
    assert len(measured.readings.clock) == 6


def test_a_picture_that_is_hardly_one_names_the_bound(tmp_path: Path) -> None:
    film = make_film(tmp_path / "hair.mov", [texture(2, 1000)] * 3, codec="png", pix_fmt="rgb24")
    with pytest.raises(ShotcritError, match="40 times the other at most"):
        open_movie(film)


def test_marks_outside_of_the_picture_are_followed_nowhere_and_stop_nothing(tmp_path: Path) -> None:
    film = make_film(tmp_path / "pan.mp4", (np.roll(texture(320, 180), 2 * i, axis=1) for i in range(8)))
    inside = {"nose": [{"frame": 1, "x": 0.5, "y": 0.5}]}
    outside = {"chin": [{"frame": 1, "x": 3, "y": 3}], "chest": [{"frame": f, "x": 1.3, "y": 0.5} for f in range(1, 9)]}
    cast = parse_cast({"characters": [{"name": "Oona", "marks": {**inside, **outside}}]}, name="it")
    (oona,), _, _ = measure_marks(open_movie(film), cast, ())
    assert np.isfinite(oona.marks["nose"].xy).all()
    assert np.isfinite(oona.marks["chin"].xy[1:]).sum() == 0


def test_usd_still_opens(tmp_path: Path) -> None:
    assert read_scene(write_usd(tmp_path / "fine.usda"), ONE_SECOND).nodes
