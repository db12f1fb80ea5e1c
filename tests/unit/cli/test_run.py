"""How commands end: status and one sentence, for people's errors and for ours."""

from __future__ import annotations

from pathlib import Path

import pytest
import typer

from shotcrit.cli.run import guarded
from shotcrit.errors import InputError, Stopped
from shotcrit.unforeseen import FOLDER_SETTING


def ended(problem: BaseException) -> int:
    """The status that an app which raises `problem` leaves with."""
    app = typer.Typer(pretty_exceptions_enable=False)

    @app.command()
    def command() -> None:
        raise problem

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("sys.argv", ["shotcrit"])
        with pytest.raises(SystemExit) as left:
            guarded(app)
    return int(left.value.code or 0)


@pytest.mark.parametrize(("problem", "status"), [(InputError("a.mov is empty; copy it"), 2), (Stopped("x"), 130), (ValueError("Oona"), 70)])
def test_every_end_has_its_status_and_one_sentence(
    problem: Exception, status: int, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv(FOLDER_SETTING, str(tmp_path))
    assert ended(problem) == status
    said = capsys.readouterr()
    assert said.out == ""
    assert said.err.startswith("shotcrit: ")
    assert said.err.count("\n") == 1
    assert "Traceback" not in said.err
    assert [str(path) in said.err for path in tmp_path.iterdir()] == ([True] if status == 70 else [])
