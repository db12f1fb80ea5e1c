"""The command as a process: what it is asked reaches it, its status is passed on, its death is told, and nothing outlives the one who waits."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from shotcrit.unforeseen import FOLDER_SETTING

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="signals are POSIX's")
# main.run, but with a command that dies as it is told.
RUN = "import shotcrit.cli.main as m; real = m.Command; m.Command = lambda _module, given: real('tests.make.dying_command', given); m.run()"


def begun(how: str, folder: Path) -> subprocess.Popen[str]:
    environment = {**os.environ, "PYTHONPATH": str(Path.cwd()), FOLDER_SETTING: str(folder / "logs")}
    return subprocess.Popen([sys.executable, "-c", RUN, how, str(folder / "pid")], env=environment, stderr=subprocess.PIPE, text=True)


def inner(folder: Path) -> int:
    """The process id of the command itself, once it runs."""
    end = time.monotonic() + 90
    while time.monotonic() < end and not (folder / "pid").exists():
        time.sleep(0.02)
    return int((folder / "pid").read_text())


@pytest.mark.parametrize("status", [0, 2, 70])
def test_its_status_is_passed_on(status: int, tmp_path: Path) -> None:
    with begun(str(status), tmp_path) as process:
        assert process.communicate()[1] == ""
    assert process.returncode == status


def test_death_by_a_signal_is_one_sentence_with_a_report(tmp_path: Path) -> None:
    with begun("SIGSEGV", tmp_path) as process:
        said = process.communicate()[1]
    assert process.returncode == 70
    (report,) = (tmp_path / "logs").iterdir()
    assert said.startswith("shotcrit: the command broke off (SIGSEGV); ")
    assert str(report) in said
    assert said.count("\n") == 1
    assert "tests" not in report.read_text()
    assert "elsewhere:" in report.read_text()


def test_ctrl_c_reaches_it_once_and_its_answer_counts(tmp_path: Path) -> None:
    with begun("sleep", tmp_path) as process:
        inner(tmp_path)
        process.send_signal(signal.SIGINT)
        process.communicate()
    assert process.returncode == 130


def test_it_does_not_outlive_the_one_who_waits(tmp_path: Path) -> None:
    with begun("sleep", tmp_path) as process:
        command = inner(tmp_path)
        process.kill()
    end = time.monotonic() + 90
    while time.monotonic() < end and Path(f"/proc/{command}").exists():
        time.sleep(0.05)
    assert not Path(f"/proc/{command}").exists()


def test_the_real_command_refuses_in_a_sentence(tmp_path: Path) -> None:
    done = subprocess.run(
        [sys.executable, "-m", "shotcrit.cli.main", "measure", str(tmp_path / "kite.mov")], capture_output=True, text=True
    )
    assert done.returncode == 2
    assert done.stdout == ""
    assert done.stderr.strip() == f"shotcrit: {tmp_path}/kite.mov does not exist; check the name and the folder."
