"""The bench's page keeps what was not measured again, and a row that fails takes no other with it."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from bench import run
from bench.registry import Result, Row
from bench.results import merged


def test_a_part_that_is_written_leaves_the_others_alone() -> None:
    page = merged(merged("", "sound", "Monday", "| a |\n| b |"), "marks", "Tuesday", "| c |")
    again = merged(page, "marks", "Friday", "| d |")
    assert re.findall(r"^## (\w+)$", again, re.MULTILINE) == ["marks", "sound"]
    assert "Monday\n\n| a |\n| b |" in again
    assert "Friday\n\n| d |" in again
    assert "Tuesday" not in again
    assert merged(again, "marks", "Friday", "| d |") == again


def test_a_failing_row_is_told_and_the_others_run_on(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys) -> None:  # type: ignore[no-untyped-def]
    def torn(_work: Path) -> Result:
        raise OSError("the kite | is torn")

    rows = [Row("one", "kite", "", torn), Row("two", "kite", "at most 3", lambda _w: Result(2.0, "flown", reached=True))]
    monkeypatch.setattr(run, "_rows", lambda: rows)
    monkeypatch.setattr(run, "RESULTS", tmp_path / "results.md")
    monkeypatch.setattr(run.sys, "argv", ["run.py", "--write"])
    assert run.main() == 1
    page = (tmp_path / "results.md").read_text()
    assert "| kite | one | none |  (MISSED) | failed: OSError: the kite / is torn |" in page
    assert "| kite | two | 2.00 times | at most 3 (reached) | flown |" in page
    assert "OSError" in capsys.readouterr().err


def test_a_row_that_takes_too_long_is_given_up(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys) -> None:  # type: ignore[no-untyped-def]
    def endless(_work: Path) -> Result:
        while True:
            pass

    monkeypatch.setattr(run, "LONGEST_ROW_S", 1)
    result = run._measured(Row("endless", "kite", "", endless), tmp_path)
    assert result.reached is False
    assert "given up" in result.note
    assert "TimeoutError" in capsys.readouterr().err
