"""The example check is a package of its own: installed as a stranger's is, it is used, and nothing of ours was touched."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

EXAMPLE = Path(__file__).parents[3] / "examples" / "blink_rate"
USE = """
from dataclasses import replace
import numpy as np
from tests.make.measured import measured
from shotcrit.checks.installed import door
from shotcrit.checks.registry import run_checks
from shotcrit.measuring.kept import keep_measured, kept_measured
from shotcrit.measuring.request import MeasureRequest
from shotcrit.store.cache import open_cache
from pathlib import Path

known = measured(frames=2400)
readings = replace(known.readings, blinks=(), acting=tuple(
    replace(a, lids={"left": np.ones(2400, np.float32)}) for a in known.readings.acting))
findings, missing = run_checks(readings)
print([f"{f.check} {f.kind} {f.who}" for f in findings])
print([one.made_by for one in door().checks.values()])
kept, request = open_cache(root=Path("cache")).medium("ab" * 32), MeasureRequest(Path("kite.mp4"))
for _ in range(2):
    print("kept" if kept_measured(kept, request, "ab" * 32) else "to be measured")
    keep_measured(kept, request, "ab" * 32, known)
"""


def _use(where: Path, *paths: Path) -> str:
    root = EXAMPLE.parents[1]
    environment = {**os.environ, "PYTHONPATH": os.pathsep.join(map(str, (*paths, root)))}
    done = subprocess.run([sys.executable, "-c", USE], cwd=where, env=environment, capture_output=True, text=True, check=True)
    return done.stdout


@pytest.fixture
def installed(tmp_path: Path) -> Path:
    """The example in a folder of its own, installed with no network."""
    target = tmp_path / "packages"
    pip = [sys.executable, "-m", "pip", "install", "-q", "--no-deps", "--no-index", "--no-build-isolation", "--target", str(target)]
    subprocess.run([*pip, str(EXAMPLE)], check=True, capture_output=True)
    return target


def test_it_is_used_once_it_is_installed_also_on_a_shot_that_was_measured_before(tmp_path, installed):
    without = _use(tmp_path)
    assert "blink_rate" not in without
    assert without.endswith("to be measured\nkept\n")
    together = _use(tmp_path, installed)
    assert "'blink_rate seldom Bram', 'blink_rate seldom Oona'" in together
    assert "shotcrit-blink-rate 1.0" in together
    assert together.endswith("to be measured\nkept\n")


def test_its_own_tests_pass(installed):
    """As its author runs them."""
    environment = {**os.environ, "PYTHONPATH": str(installed)}
    command = [sys.executable, "-m", "pytest", "-q", "-p", "no:cacheprovider", "-c", os.devnull, str(EXAMPLE / "tests")]
    done = subprocess.run(command, env=environment, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stdout + done.stderr
