"""`follow` as it is called: JSON alone on standard output, a table and a page, and refusals before any work."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from tests.make.films import make_sound, tone
from tests.make.take_pairs import Look, Pair, Plan

from shotcrit.cli.following import follow_command
from shotcrit.errors import InputError
from shotcrit.store.cache import FOLDER_SETTING

OLD = Plan(np.r_[np.arange(24.0), [23.0] * 5], sound=None, look=Look(grain=0.0))


@pytest.fixture
def films(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> tuple[Path, Path]:
    monkeypatch.setenv(FOLDER_SETTING, str(tmp_path / "cache"))
    return Pair("tail", OLD, replace(OLD, u=np.arange(29.0))).films(tmp_path)


def test_json_goes_alone_to_standard_output(films: tuple[Path, Path], tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    follow_command(*films, first_frame=1001, json="-", page=tmp_path / "answer.html")
    said = capsys.readouterr().out
    document = json.loads(said)
    assert document["schema"] == "shotcrit.follow/1"
    assert document["map"][0] == [1001, 1001]
    assert [(v["check"], v["kind"], v["verdict"], v["old"]["value"], v["new"]["value"]) for v in document["verdicts"]] == [
        ("hold", "tail", "moved", 5, 0)
    ]
    page = (tmp_path / "answer.html").read_text(encoding="utf-8")
    assert page.count('<div class="still"') == 2
    assert "From 5 frames to 0 frames (limit 1)." in page


def test_a_folder_that_is_not_there_is_refused_before_any_work(films: tuple[Path, Path], tmp_path: Path) -> None:
    with pytest.raises(InputError, match="make the folder first"):
        follow_command(*films, page=tmp_path / "nowhere" / "answer.html")
    assert not (tmp_path / "cache").exists()


def test_two_sounds_are_followed_by_ear(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    monkeypatch.setenv(FOLDER_SETTING, str(tmp_path / "cache"))
    noise = np.random.default_rng(3).normal(0, 0.1, 48000 * 3).astype(np.float32)[:, None]
    sound = tone(3.0) * 0.2 + noise
    old, new = make_sound(tmp_path / "old.wav", sound), make_sound(tmp_path / "new.wav", sound[24000:])
    follow_command(old, new, json="-")
    document = json.loads(capsys.readouterr().out)
    assert document["map"][30] == [31, 19]
    assert document["changes"] == []
