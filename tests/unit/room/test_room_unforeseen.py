"""Errors that nobody foresaw, in the room: an answer of the usual shape, a job that says what happened, and a room that goes on."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from tests.make.rooms import Guest, until

from shotcrit.room.judging.service import Judging
from shotcrit.unforeseen import FOLDER_SETTING


@pytest.fixture(autouse=True)
def reports(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv(FOLDER_SETTING, str(tmp_path / "logs"))
    return tmp_path / "logs"


def breaks(*_given: Any, **_named: Any) -> Any:
    raise ZeroDivisionError("Oona")


def test_a_route_that_breaks_answers_500_in_a_sentence_and_the_room_goes_on(
    room: Guest, reports: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    with monkeypatch.context() as patch:
        patch.setattr(Judging, "tray", breaks)
        refused = room.get("/api/takes/TAKE/findings", 500)
    (report,) = reports.iterdir()
    assert str(report) in refused["says"]
    assert set(refused) == {"says", "kind", "current"}
    assert "Oona" not in report.read_text()
    room.get("/api/takes/TAKE/findings")


def test_a_job_that_breaks_has_failed_with_the_same_sentence(room: Guest, reports: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("shotcrit.room.measured.service.run_elsewhere", breaks)
    job = room.post("/api/takes/TAKE/measure", status=202)
    ended = until(lambda: (j := room.get(f"/api/jobs/{job['id']}"))["state"] != "running" and j)
    assert ended["state"] == "failed"
    (report,) = reports.iterdir()
    assert str(report) in ended["says"]
