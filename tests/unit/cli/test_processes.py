"""The commands as people run them: exit statuses, what goes to which output, and one sentence for every failure, with nothing half-written left."""

from __future__ import annotations

import json
import os
import re
import subprocess
import sys
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import pytest
from tests.make.films import make_film, numbered

from shotcrit import cli
from shotcrit.cli.app import app
from shotcrit.cli.lazy import COMMANDS
from shotcrit.cli.run import guarded

BAD_INPUT = 2


@pytest.fixture(scope="module")
def place(tmp_path_factory) -> Path:
    """A folder with a film, and with things that are not what they should be."""
    folder = tmp_path_factory.mktemp("shots")
    make_film(folder / "kite.mp4", numbered(6))
    (folder / "words.mp4").write_text("no film", encoding="utf-8")
    (folder / "words.crit").write_text("no crit", encoding="utf-8")
    (folder / "broken.json").write_text("{", encoding="utf-8")
    (folder / "in-the-way").write_text("a file", encoding="utf-8")
    return folder


@dataclass(frozen=True)
class Done:
    """How a command ended, and what it said where."""

    returncode: int
    stdout: str
    stderr: str


def process(place: Path, *arguments: str) -> Done:
    """A command as a shell runs it."""
    environment = {**os.environ, **surroundings(place)}
    command = [sys.executable, "-m", "shotcrit.cli.main", *arguments]
    done = subprocess.run(command, cwd=place, env=environment, capture_output=True, text=True, check=False, stdin=subprocess.DEVNULL)
    return Done(done.returncode, done.stdout, done.stderr)


def surroundings(place: Path) -> dict[str, str]:
    return {"SHOTCRIT_CACHE": str(place / "cache"), "NO_BROWSER": "1", "COLUMNS": "100"}


@pytest.fixture
def shotcrit(place: Path, monkeypatch: pytest.MonkeyPatch, capfd: pytest.CaptureFixture[str]) -> Callable[..., Done]:
    """A command as its process runs it, but in this one: loading everything takes each process seconds."""
    monkeypatch.chdir(place)
    for name, value in surroundings(place).items():
        monkeypatch.setenv(name, value)

    def run(*arguments: str) -> Done:
        monkeypatch.setattr(sys, "argv", ["shotcrit", *arguments])
        capfd.readouterr()
        with pytest.raises(SystemExit) as left:
            guarded(app)
        return Done(int(left.value.code or 0), *capfd.readouterr())

    return run


def test_every_command_that_is_written_can_be_called():
    written = re.findall(
        r"^def (\w+)_command\(", "\n".join(page.read_text(encoding="utf-8") for page in Path(cli.__file__).parent.glob("*.py")), re.M
    )
    assert sorted(written) == sorted(COMMANDS)


def test_help_names_every_command(shotcrit):
    done = shotcrit("--help")
    assert done.returncode == 0
    for name in COMMANDS:
        assert f" {name} " in done.stdout


def test_help_is_there_before_the_commands_are_loaded(place):
    done = process(place, "--help")
    assert done.stdout.startswith("Usage: shotcrit ")
    listing = "import sys; import shotcrit.cli.app as app; app.app(['--help'], standalone_mode=False)"
    asked = f"{listing}; print(sorted({{'numpy', 'fastapi', 'av'}} & set(sys.modules)))"
    told = subprocess.run(
        [sys.executable, "-c", asked], capture_output=True, text=True, check=True, env={**os.environ, **surroundings(place)}
    )
    assert told.stdout.splitlines()[-1] == "[]"


@pytest.mark.parametrize("name", COMMANDS)
def test_every_command_has_help(shotcrit, name):
    done = shotcrit(name, "--help")
    assert (done.returncode, done.stderr) == (0, "")
    assert done.stdout.startswith(f"Usage: shotcrit {name} ")
    assert len(done.stdout.split("\n\n")[1].strip()) > 20, "a sentence on what it does"


def test_json_on_standard_output_is_json_and_nothing_else(place):
    done = process(place, "measure", "kite.mp4", "--json", "-")
    assert done.returncode == 0, done.stderr
    assert json.loads(done.stdout)["schema"] == "shotcrit.measure/1"
    assert done.stdout.startswith("{")
    assert done.stdout.endswith("}\n")


FAILURES = [
    ("measure", "nowhere.mov"),
    ("measure", "words.mp4", "--json", "-"),
    ("measure", "kite.mp4", "--limit", "hold.none=3"),
    ("measure", "kite.mp4", "--cast", "broken.json", "--json", "out.json"),
    ("measure", "kite.mp4", "--json", "no-folder/out.json"),
    ("send", "nowhere.crit", "--to", "sent"),
    ("send", "kite.mp4", "--to", "in-the-way"),
    ("send", "kite.mp4", "--to", "sent", "--only", "telegram"),
    ("open", "nowhere.crit"),
    ("open", "words.crit"),
    ("marks", "nowhere.json", "out.csv"),
    ("marks", "broken.json", "out.csv"),
    ("demo", "--to", "in-the-way"),
]


def assert_refused(done: Done) -> None:
    assert (done.returncode, done.stdout) == (BAD_INPUT, "")
    told = [line for line in done.stderr.splitlines() if "━" not in line]
    assert len(told) == 1, done.stderr
    assert told[0].startswith("shotcrit: ")
    assert told[0].endswith(".")


@pytest.mark.parametrize("arguments", FAILURES, ids=" ".join)
def test_a_failure_is_one_sentence_on_standard_error_and_leaves_nothing(place, shotcrit, arguments):
    before = {path.name for path in place.iterdir()}
    assert_refused(shotcrit(*arguments))
    assert {path.name for path in place.iterdir()} - before <= {"cache"}


@pytest.mark.parametrize("arguments", [("measure", "words.mp4", "--json", "-"), ("open", "words.crit")], ids=" ".join)
def test_a_process_fails_as_the_command_in_it(place, shotcrit, arguments):
    """So what is asked of commands here holds for those that a shell runs."""
    done = process(place, *arguments)
    assert_refused(done)
    assert done.stderr.splitlines()[-1] == shotcrit(*arguments).stderr.splitlines()[-1]


@pytest.mark.parametrize("arguments", [("juggle",), ("measure",), ("measure", "kite.mp4", "--juggle")], ids=" ".join)
def test_what_is_no_command_or_option_is_told_with_the_same_status(shotcrit, arguments):
    done = shotcrit(*arguments)
    assert (done.returncode, done.stdout) == (BAD_INPUT, "")
    assert "Traceback" not in done.stderr
    assert arguments[-1] in done.stderr or "MOVIE" in done.stderr
