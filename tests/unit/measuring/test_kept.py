"""A measurement kept as a whole: it comes back as it was, and not under any other circumstances than its own."""

from __future__ import annotations

import dataclasses
import os
import subprocess
import sys
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from pydantic import BaseModel
from tests.make import measured as known

from shotcrit.errors import ReadingError
from shotcrit.measuring import kept
from shotcrit.measuring.kept import MOST_KEPT, keep_measured, kept_measured, measured_name
from shotcrit.measuring.kept_form import measured_from_bytes, measured_to_bytes
from shotcrit.measuring.request import MeasureRequest
from shotcrit.store.cache import MediumCache, open_cache

SHA = "ab" * 32
PADDING = 64
"""Bytes at the end that may say nothing."""
LOADS = "from shotcrit.measuring import kept; import sys; print([m for m in ('scipy.signal', 'pocketsphinx') if m in sys.modules])"


@pytest.fixture
def cache(tmp_path: Path) -> MediumCache:
    return open_cache(root=tmp_path / "cache").medium(SHA)


@pytest.fixture
def request_(tmp_path: Path) -> MeasureRequest:
    scene = tmp_path / "kite.usda"
    scene.write_text("#usda 1.0\n")
    return MeasureRequest(tmp_path / "kite.mp4", scene=scene, cast=known.measured().readings.cast)


def _same(a: Any, b: Any) -> bool:
    """Equal all the way down, with arrays by type, shape and value, and nan equal to nan."""
    if type(a) is not type(b):
        return False
    if isinstance(a, np.ndarray):
        return a.dtype == b.dtype and a.shape == b.shape and a.tobytes() == b.tobytes()
    if isinstance(a, BaseModel):
        return bool(a == b)
    if dataclasses.is_dataclass(a):
        return all(_same(getattr(a, f.name), getattr(b, f.name)) for f in dataclasses.fields(a))
    if isinstance(a, dict):
        return list(a) == list(b) and all(_same(a[k], b[k]) for k in a)
    if isinstance(a, tuple | list):
        return len(a) == len(b) and all(map(_same, a, b))
    return bool(a == b) or (a != a and b != b)


def test_a_measurement_comes_back_as_it_was() -> None:
    whole = known.measured()
    assert _same(measured_from_bytes(measured_to_bytes(whole)), whole)
    other = replace(whole, findings=whole.findings[:-1])
    assert not _same(measured_from_bytes(measured_to_bytes(other)), whole)


def test_its_arrays_can_be_written_to_like_fresh_ones() -> None:
    found = measured_from_bytes(measured_to_bytes(known.measured())).readings.picture
    assert found is not None
    found.movement.values[0] = 1.0


def test_what_is_no_plain_value_or_class_of_ours_is_not_kept() -> None:
    whole = known.measured()
    for strange in (open, subprocess.run, np.array([object()]), {1, 2}):
        with pytest.raises(ReadingError):
            measured_to_bytes(replace(whole, not_measured=(strange,)))  # type: ignore[arg-type]


@pytest.mark.parametrize(
    "said",
    [b"", b"null", b"[]", b'["os.system","true"]', b'["subprocess.Popen",{"args":"true"}]', b'["array","|O",[1],0]', b'["array","<f4",[9],0]',
     b'["array","<f4",[-1],0]', b'["shotcrit.checks.measured.Measured",{}]', b'["tuple",1]', b'["Fraction","1/0"]', b"[" * 9000],
)  # fmt: skip
def test_bytes_that_say_anything_else_are_refused(said: bytes) -> None:
    with pytest.raises(ReadingError):
        measured_from_bytes(len(said).to_bytes(8, "little") + said)


def test_a_cut_off_one_is_refused() -> None:
    data = measured_to_bytes(known.measured())
    for length in range(0, len(data) - PADDING, max(1, len(data) // 40)):
        with pytest.raises(ReadingError):
            measured_from_bytes(data[:length])


def test_it_is_found_again_by_the_same_request(cache: MediumCache, request_: MeasureRequest) -> None:
    assert kept_measured(cache, request_, SHA) is None
    keep_measured(cache, request_, SHA, known.measured())
    assert _same(kept_measured(cache, request_, SHA), known.measured())


CHANGES: dict[str, Callable[[MeasureRequest], MeasureRequest]] = {
    "lines": lambda r: replace(r, said_key="0123"),
    "cast": lambda r: replace(r, cast=None),
    "limits": lambda r: replace(r, limits={"hold.ends": 3.0}),
    "medium": lambda r: replace(r, medium="drawn"),
    "first frame": lambda r: replace(r, first_frame=1001),
    "place": lambda r: replace(r, movie=r.movie.with_name("other.mp4")),
    "scene": lambda r: replace(r, scene=None),
}


@pytest.mark.parametrize("change", CHANGES)
def test_another_request_does_not_find_it(cache: MediumCache, request_: MeasureRequest, change: str) -> None:
    keep_measured(cache, request_, SHA, known.measured())
    assert kept_measured(cache, CHANGES[change](request_), SHA) is None


def test_nor_after_the_scene_or_one_that_it_draws_in_changed(cache: MediumCache, request_: MeasureRequest) -> None:
    assert request_.scene is not None
    names = [measured_name(request_, SHA)]
    os.utime(request_.scene, ns=(1, 1))
    names.append(measured_name(request_, SHA))
    request_.scene.with_name("set.usdc").write_bytes(b"PXR-USDC")
    names.append(measured_name(request_, SHA))
    request_.scene.with_name("notes.txt").write_text("no scene")
    assert len(set(names)) == 3
    assert measured_name(request_, SHA) == names[-1]


def test_nor_by_other_code(cache: MediumCache, request_: MeasureRequest, monkeypatch: pytest.MonkeyPatch) -> None:
    keep_measured(cache, request_, SHA, known.measured())
    monkeypatch.setattr(kept, "code_digest", lambda: "other")
    assert kept_measured(cache, request_, SHA) is None


def test_the_code_is_hashed_by_what_it_says(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "checks").mkdir()
    (tmp_path / "checks" / "hold.py").write_text("LIMIT = 1\n")
    monkeypatch.setattr(kept.shotcrit, "__file__", str(tmp_path / "__init__.py"))
    first = kept.code_digest.__wrapped__()
    (tmp_path / "checks" / "hold.pyc").write_bytes(b"x")
    assert kept.code_digest.__wrapped__() == first
    (tmp_path / "checks" / "hold.py").write_text("LIMIT = 2\n")
    assert kept.code_digest.__wrapped__() != first


def test_only_the_newest_are_kept(cache: MediumCache, request_: MeasureRequest) -> None:
    requests = [replace(request_, first_frame=n) for n in range(MOST_KEPT + 2)]
    for n, one in enumerate(requests):
        keep_measured(cache, one, SHA, known.measured())
        os.utime(cache._part(measured_name(one, SHA), kept.VERSION), ns=(n, n))
    assert [kept_measured(cache, one, SHA) is not None for one in requests] == [False] * 2 + [True] * MOST_KEPT


def test_finding_it_again_loads_nothing_that_measures() -> None:
    said = subprocess.run([sys.executable, "-c", LOADS], capture_output=True, text=True, check=True)
    assert said.stdout.strip() == "[]"
