"""A wheel of ours where nothing else of ours is: it holds the page and what others lend, or it is not made; and the commands work from it.

Slow for a reason: the wheel's page is built, and the demo is measured as whoever installs it sees it.
"""

from __future__ import annotations

import http.cookiejar
import json
import re
import signal
import subprocess
import urllib.request
import zipfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from tests.make.bare import Bare, bare_environment, build_wheel, copy_of_source
from tests.make.films import make_film, numbered, tone

pytestmark = pytest.mark.slow


@pytest.fixture(scope="module")
def wheel(tmp_path_factory) -> Path:
    folder = tmp_path_factory.mktemp("wheel")
    done = build_wheel(copy_of_source(folder / "source"), folder)
    assert done.returncode == 0, done.stderr
    (made,) = folder.glob("*.whl")
    return made


@pytest.fixture(scope="module")
def bare(wheel, tmp_path_factory) -> Bare:
    return bare_environment(tmp_path_factory.mktemp("bare"), wheel)


def test_a_wheel_holds_the_page_and_what_others_lend_with_their_licences(wheel):
    names = set(zipfile.ZipFile(wheel).namelist())
    assert "shotcrit/room/static/index.html" in names
    assert "shotcrit/lent_files/g2p_en/checkpoint20.npz" in names
    assert "shotcrit/lent_files/g2p_en/LICENSE.txt" in names
    assert "shotcrit/lent_files/mediapipe/face_landmark.tflite" in names
    assert "shotcrit/lent_files/mediapipe/LICENSE" in names
    assert "shotcrit/py.typed" in names
    assert {name.rpartition("/")[2] for name in names if ".dist-info/licenses/" in name} == {"LICENSE", "NOTICES.md"}
    assert not [name for name in names if not name.startswith(("shotcrit/", "shotcrit-"))]


def test_without_the_pages_source_there_is_no_wheel(tmp_path):
    source = copy_of_source(tmp_path / "source")
    (source / "web/package-lock.json").unlink()
    done = build_wheel(source, tmp_path)
    assert done.returncode != 0
    assert "web/ is not there, so the room's page cannot be built" in done.stderr
    assert not list(tmp_path.glob("*.whl"))


def test_a_page_that_does_not_build_stops_the_wheel(tmp_path):
    source = copy_of_source(tmp_path / "source")
    package = source / "web/package.json"
    told = json.loads(package.read_text(encoding="utf-8"))
    package.write_text(json.dumps({**told, "scripts": {"build": "exit 1"}}), encoding="utf-8")
    done = build_wheel(source, tmp_path)
    assert done.returncode != 0
    assert "could not be built; there is no wheel without it" in done.stderr
    assert not list(tmp_path.glob("*.whl"))


def test_doctor_finds_all_it_needs(bare):
    done = bare.run("doctor")
    assert done.returncode == 0, done.stdout
    assert "the room's page" in done.stdout
    lacking = [line for line in done.stdout.splitlines() if line.startswith("missing")]
    assert all("usd-core" in line for line in lacking), lacking


def test_measure_writes_pure_json(bare, tmp_path):
    film = make_film(tmp_path / "kite.mp4", numbered(24), sound=tone(1.0))
    done = bare.run("measure", str(film), "--json", "-")
    assert done.returncode == 0, done.stderr
    assert json.loads(done.stdout)["movie"]["frames"] == 24


def test_demo_measures_sends_and_opens_and_open_finds_it_again(bare):
    with _serving(bare, "demo", "--to", "demo") as (address, said):
        assert any("measured lantern_040_take1.mp4" in line for line in said)
        _looks_right(address)
    sent = {path.name.partition("take1-")[2] for path in (bare.home / "demo/sent").iterdir()}
    assert {"sheet.pdf", "page.html", "findings.pdf", "measure.json", "track.TextGrid"} <= sent
    with _serving(bare, "open", "demo/lantern_040.crit") as (address, _):
        _looks_right(address)


@contextmanager
def _serving(bare: Bare, *arguments: str) -> Iterator[tuple[str, list[str]]]:
    """A command that serves the room; its address and what it said before."""
    process = subprocess.Popen(
        [bare.program, *arguments], cwd=bare.home, env=bare.variables, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True
    )
    try:
        assert process.stdout is not None
        said: list[str] = []
        for line in process.stdout:
            said.append(line)
            found = re.search(r"http://\S+", line)
            if found:
                yield found[0], said
                break
        else:
            assert process.stderr is not None
            pytest.fail(process.stderr.read())
    finally:
        process.send_signal(signal.SIGINT)
        process.communicate(timeout=300)


def _looks_right(address: str) -> None:
    """The page, a script of it, and the takes by the API, over HTTP with the address's token."""
    opener = urllib.request.build_opener(urllib.request.HTTPCookieProcessor(http.cookiejar.CookieJar()))
    root = address.partition("?")[0]
    opener.open(address).read()
    page = opener.open(root).read().decode()
    script = re.search(r'<script[^>]+src="\./([^"]+)"', page)
    assert script is not None, page
    assert len(opener.open(root + script[1]).read()) > 100_000
    takes = json.loads(opener.open(f"{root}api/takes").read())
    assert "lantern_040" in json.dumps(takes)
