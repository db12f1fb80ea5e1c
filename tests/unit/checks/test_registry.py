"""Running checks: one that fails never takes the others with it."""

from __future__ import annotations

from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest
from tests.make.measured import measured

from shotcrit.checks import registry
from shotcrit.checks.finding import NotMeasured, Result
from shotcrit.unforeseen import FOLDER_SETTING


def check(name: str, answer: Any) -> Any:
    def run(_readings: Any, _limits: Any) -> Any:
        if isinstance(answer, Exception):
            raise answer
        return answer

    return SimpleNamespace(ID=name, TITLE=name, HELP=name, LIMITS=(), run=run)


def test_a_check_that_fails_is_told_as_not_measured_and_the_rest_stands(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv(FOLDER_SETTING, str(tmp_path))
    fine = Result(not_measured=(NotMeasured("fine", None, "sound"),))
    monkeypatch.setattr(registry, "all_checks", lambda: (check("broken", ZeroDivisionError()), check("fine", fine), check("silent", None)))
    findings, missing = registry.run_checks(measured(level=0).readings)
    assert findings == ()
    assert [m.check for m in missing] == ["broken", "fine", "silent"]
    assert missing[1].needs == "sound"
    reports = {str(path) for path in tmp_path.iterdir()}
    assert len(reports) == 2
    assert all(any(path in m.needs for path in reports) for m in (missing[0], missing[2]))
