"""What is missing is skipped here and fails on CI."""

from __future__ import annotations

import pytest
from tests.make import installed
from tests.make.installed import CHROMIUM, needed, weights_needed


@pytest.mark.parametrize(("ci", "outcome"), [("true", pytest.fail.Exception), ("", pytest.skip.Exception)])
def test_a_program_that_is_missing(ci: str, outcome: type[BaseException], monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("CI", ci)
    monkeypatch.setenv("PATH", "/nowhere")
    with pytest.raises(outcome, match="chromium is not installed"):
        needed(*CHROMIUM)


@pytest.mark.parametrize(("ci", "outcome"), [("true", pytest.fail.Exception), ("", pytest.skip.Exception)])
def test_weights_that_are_missing(ci: str, outcome: type[BaseException], monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("CI", ci)
    monkeypatch.setattr(installed, "weights_there", lambda: False)
    with pytest.raises(outcome, match="weights"):
        weights_needed()


def test_a_program_that_is_here() -> None:
    assert needed("no-such-program", "python3", "python")
