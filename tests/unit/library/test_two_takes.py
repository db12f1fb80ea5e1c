"""The worked example draws what it says: a strip a take, the mouth as seen and as asked for, the phones by name."""

from __future__ import annotations

from importlib.util import module_from_spec, spec_from_file_location
from pathlib import Path
from types import ModuleType, SimpleNamespace
from typing import Any, cast

import matplotlib as mpl
import numpy as np
import pytest
from tests.make.measured import measured

from shotcrit.library.shot import Shot
from shotcrit.measuring.measure import Workbench

EXAMPLE = Path(__file__).parents[3] / "examples" / "notebook_two_takes.py"


@pytest.fixture(scope="module")
def example() -> ModuleType:
    mpl.use("agg")
    spec = spec_from_file_location("notebook_two_takes", EXAMPLE)
    assert spec is not None
    assert spec.loader is not None
    module = module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


@pytest.fixture(scope="module")
def shots() -> dict[str, Shot]:
    def shot(level: int) -> Shot:
        known = measured(level=level)
        return Shot(known, cast(Any, SimpleNamespace(info=known.readings.movie)), Workbench())

    return {"Take 1": shot(2), "Take 2": shot(2), "bare": shot(1)}


def test_each_take_is_a_strip_with_both_curves_and_the_phones_of_the_line(example, shots, tmp_path):
    takes = {name: shots[name] for name in ("Take 1", "Take 2")}
    line = shots["Take 1"].lines[0].text
    figure = example.draw(takes, "Oona", line)
    first, last = example.frames_of(shots["Take 1"], line)
    spoken = [phone.phone for phone in shots["Take 1"].phones if phone.first is not None and first <= phone.first <= last]
    for axes in figure.axes:
        seen, wanted = axes.get_lines()
        assert np.nanmax(seen.get_ydata()) <= 1
        assert np.isfinite(wanted.get_ydata()).any()
        assert [text.get_text() for text in axes.texts] == spoken
    figure.savefig(tmp_path / "two_takes.png")
    assert (tmp_path / "two_takes.png").stat().st_size > 10_000


def test_it_says_what_went(example, shots):
    assert example.what_went(shots["Take 1"], shots["Take 2"]) == []
    assert set(example.what_went(shots["Take 1"], shots["bare"])) <= {f.says for f in shots["Take 1"].findings}
    assert example.what_went(shots["Take 1"], shots["bare"])
