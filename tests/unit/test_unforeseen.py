"""Reports of errors that nobody foresaw: what they tell, and that they keep to themselves what belongs to the shot."""

from __future__ import annotations

import re
from pathlib import Path

import numpy as np
import pytest

from shotcrit import unforeseen as reports
from shotcrit.errors import Unforeseen
from shotcrit.geometry.rigid import slip
from shotcrit.unforeseen import lacking, report_of, report_of_death, scrubbed, unforeseen

PRIVATE = ("Oona", "lantern_040", "/home/bram", "oil")


@pytest.fixture(autouse=True)
def reports_here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv(reports.FOLDER_SETTING, str(tmp_path / "logs"))
    return tmp_path / "logs"


def raised() -> Exception:
    try:
        try:
            slip(np.zeros((7, 3)), np.zeros((9, 2)))
        except Exception as cause:
            raise KeyError("/home/bram/lantern_040.mov says 'Oona: until the oil ran out' 17") from cause
    except KeyError as problem:
        return problem
    raise AssertionError


def test_a_report_tells_versions_steps_and_sizes_and_nothing_of_the_shot() -> None:
    text = report_of(raised(), {"frames": 161})
    assert "builtins.KeyError" in text
    assert re.search(r"^numpy \d", text, re.M)
    assert "shotcrit.geometry.rigid:" in text
    assert "float64[7, 3]" in text
    assert "frames: 161" in text
    assert not [word for word in PRIVATE if word in text]
    # This test is nobody's installed package, so not even its name stands there.
    assert "test_unforeseen" not in text


def test_words_of_python_stay_and_those_of_people_go() -> None:
    said = "operands could not be broadcast together with shapes (3,) (4,)"
    assert scrubbed(said) == said
    assert scrubbed("no frame 17 in Oona_take2 of /home/bram/lantern_040.mov") == "no - 17 in - of /-/-/-.-"


def test_the_sentence_names_the_report_and_is_told_once(reports_here: Path) -> None:
    told = unforeseen(raised())
    (path,) = reports_here.iterdir()
    assert str(path) in str(told)
    assert unforeseen(told) is told
    assert str(told) in lacking(told)
    assert len(list(reports_here.iterdir())) == 1


def test_old_reports_go(reports_here: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(reports, "MOST_KEPT", 3)
    for _ in range(5):
        unforeseen(ValueError())
    assert len(list(reports_here.iterdir())) == 3


def test_a_report_that_cannot_be_kept_is_told(reports_here: Path) -> None:
    reports_here.write_text("a file where the folder should be")
    told = unforeseen(ValueError())
    assert isinstance(told, Unforeseen)
    assert "no report of it could be kept" in str(told)


def test_a_death_is_told_by_steps_in_code_alone() -> None:
    traces = (
        'Fatal Python error: Segmentation fault\n\nCurrent thread 0x00007f (most recent call first):\n  File "/home/bram/.venv/lib/python3.13/'
        'site-packages/cv2/flow.py", line 12 in calc\n  File "/home/bram/lantern_040.py", line 3 in <module>\n'
    )
    text = report_of_death("SIGSEGV", traces)
    assert "cv2/flow.py:12 in calc" in text
    assert "elsewhere:3 in <module>" in text
    assert "bram" not in text
