"""Work in another process: answers, progress, stops, and every bad end told in a sentence."""

from __future__ import annotations

import os
import re
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from pathlib import Path

import pytest
from tests.make import errands

from shotcrit.elsewhere import near
from shotcrit.elsewhere.bounds import Bounds
from shotcrit.elsewhere.death import cause_of
from shotcrit.elsewhere.near import Elsewhere, NotStarted, Playhead, run_elsewhere
from shotcrit.errors import Died, InputError, OutOfMemory, Stopped, TooLong, Unforeseen
from shotcrit.progress import Quiet, StopAfter
from shotcrit.unforeseen import FOLDER_SETTING

POSIX = pytest.mark.skipif(sys.platform == "win32", reason="signals are POSIX's")


@pytest.fixture(autouse=True)
def reports(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv(FOLDER_SETTING, str(tmp_path / "logs"))
    return tmp_path / "logs"


@pytest.fixture(scope="module")
def place() -> Iterator[Elsewhere]:
    """One process for the tests that leave it alive."""
    place = Elsewhere()
    yield place
    place.close()


def test_it_answers_from_another_process_again_and_again(place: Elsewhere) -> None:
    assert place.ask(errands.add, 2, 3) == 5
    other = place.ask(errands.process)
    assert other != os.getpid()
    assert place.ask(errands.process) == other
    assert place.ask(errands.shout) == "quiet"


def test_steps_and_parts_come_in_order(place: Elsewhere) -> None:
    steps: list[float] = []
    parts: list[int] = []

    class Counting:
        def step(self, stage: str, done: float, total: float | None) -> None:
            assert (stage, total) == ("counting", 5)
            steps.append(done)

    assert place.ask(errands.count, 5, progress=Counting(), heard=parts.append) == 5
    assert steps == parts == [0, 1, 2, 3, 4]


def test_it_stops_when_progress_raises_and_when_it_is_told(place: Elsewhere) -> None:
    with pytest.raises(Stopped):
        place.ask(errands.count_for_ever, progress=StopAfter(3))
    stop = threading.Event()
    threading.Timer(0.2, stop.set).start()
    with pytest.raises(Stopped):
        place.ask(errands.count_for_ever, stop=stop)
    assert place.ask(errands.add, 1, 1) == 2


def test_it_hears_where_the_playhead_is(place: Elsewhere) -> None:
    playhead = Playhead()
    threading.Timer(0.2, lambda: setattr(playhead, "value", 17)).start()
    assert place.ask(errands.follow_playhead, 17, playhead=playhead) == 17


def test_errors_come_over_as_they_are_and_unforeseen_ones_with_a_report(place: Elsewhere, reports: Path) -> None:
    with pytest.raises(InputError, match=r"kite\.mov is empty"):
        place.ask(errands.refuse)
    with pytest.raises(Unforeseen, match="report-"):
        run_elsewhere(errands.break_off)
    (report,) = reports.iterdir()
    assert "KeyError" in report.read_text()
    assert "Oona" not in report.read_text()
    with pytest.raises(Unforeseen):
        place.ask(errands.unsendable)


@POSIX
def test_death_by_a_signal_is_told_with_where_it_was_and_the_next_work_is_done(reports: Path) -> None:
    place = Elsewhere()
    with pytest.raises(Died, match=r"broke off \(SIGSEGV\).*report-") as died:
        place.ask(errands.die, errands.SEGFAULT)
    assert died.value.cause == "SIGSEGV"
    (report,) = reports.iterdir()
    assert re.search(r"in die$", report.read_text(), re.M)
    assert place.ask(errands.add, 1, 2) == 3
    place.close()


@POSIX
def test_a_process_that_is_killed_or_leaves_is_told() -> None:
    with pytest.raises(Died, match=r"\(SIGKILL\); close other programs"):
        run_elsewhere(errands.die, signal.SIGKILL)
    with pytest.raises(Died, match=r"exit status 3"):
        run_elsewhere(errands.leave, 3)


def test_statuses_have_names() -> None:
    assert cause_of(-11) == "SIGSEGV"
    assert cause_of(3) == "exit status 3"
    assert cause_of(0xC0000005) == "exit status 0xc0000005"


@pytest.mark.skipif(sys.platform != "linux", reason="only Linux holds to it")
def test_it_is_held_to_its_memory() -> None:
    with pytest.raises(OutOfMemory, match="more memory"):
        run_elsewhere(errands.fill_memory, bounds=Bounds(memory=1 << 29))


def test_it_is_held_to_its_time_and_ended_by_force_when_it_does_not_stop() -> None:
    with pytest.raises(TooLong, match=r"more than 0\.5 s"):
        run_elsewhere(errands.sleep_for_ever, bounds=Bounds(patience_s=0.5))
    begun = time.monotonic()
    with pytest.raises(Stopped):
        run_elsewhere(errands.sleep_for_ever, progress=StopAfter(0), bounds=Bounds(stopping_s=0))
    assert time.monotonic() - begun < 120, "the errand sleeps for ever"


@pytest.mark.parametrize("program", ["/nowhere/python", "/bin/false", ""])
def test_where_no_process_can_be_had_that_is_told(monkeypatch: pytest.MonkeyPatch, program: str) -> None:
    monkeypatch.setattr(near.sys, "executable", program)
    with pytest.raises(NotStarted):
        run_elsewhere(errands.add, 1, 2, progress=Quiet())


def test_it_needs_no_guard_in_a_users_script(tmp_path: Path) -> None:
    script = tmp_path / "plain_script.py"
    script.write_text(
        "from shotcrit.elsewhere.near import run_elsewhere\nfrom tests.make import errands\n"
        "print('once')\nprint(run_elsewhere(errands.add, 20, 22))\n"
    )
    said = subprocess.run([sys.executable, str(script)], env={**os.environ, "PYTHONPATH": str(Path.cwd())}, capture_output=True, text=True)
    assert said.stdout.split() == ["once", "42"], said.stderr


@POSIX
def test_nothing_is_left_running_when_this_process_is_killed() -> None:
    code = "from shotcrit.elsewhere.near import *\nfrom tests.make import errands\nrun_elsewhere(errands.count, 1, heard=print)\n" \
        "p = Elsewhere()\nprint(p.ask(errands.process), flush=True)\np.ask(errands.count_for_ever)\n"  # fmt: skip
    first = subprocess.Popen(
        [sys.executable, "-c", code], env={**os.environ, "PYTHONPATH": str(Path.cwd())}, stdout=subprocess.PIPE, text=True
    )
    with first:
        assert first.stdout is not None
        first.stdout.readline()
        other = int(first.stdout.readline())
        first.kill()
    end = time.monotonic() + 90
    while time.monotonic() < end and Path(f"/proc/{other}").exists():
        time.sleep(0.05)
    assert not Path(f"/proc/{other}").exists()
