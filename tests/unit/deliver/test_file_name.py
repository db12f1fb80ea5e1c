"""Names of what is sent: file systems take them, and links hold them without being escaped."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path
from urllib.parse import quote

import pytest
from tests.make.films import make_sequence, numbered

from shotcrit.deliver.file_name import file_name
from shotcrit.measuring.deliveries import send_measured
from shotcrit.measuring.measure import Workbench, measure, open_medium
from shotcrit.measuring.request import MeasureRequest
from shotcrit.store.cache import open_cache


@pytest.mark.parametrize(
    ("text", "name"),
    [
        ("lantern_040", "lantern_040"),
        ("shot #4 50%", "shot__4_50"),
        ("a/b\\c:d?", "a_b_c_d"),
        ("...", "shot"),
        ("x" * 200, "x" * 80),
        ("é.1", "é.1"),
    ],
)
def test_what_stays_of_a_name(text: str, name: str) -> None:
    assert file_name(text) == name


@pytest.mark.parametrize("pattern", ["shot.####.png", "shot.%04d.png"])
def test_what_is_sent_of_a_run_of_pictures_can_be_linked_to(tmp_path: Path, pattern: str) -> None:
    make_sequence(tmp_path / "run", numbered(3))
    request = MeasureRequest(tmp_path / "run" / pattern, rate=Fraction(24))
    bench = Workbench(open_cache(root=tmp_path / "cache"), proxy=False)
    movie = open_medium(request)
    (made,) = send_measured(
        measure(request, bench, movie=movie), movie, tmp_path / "sent", names=["json"], cache=bench.cache, progress=bench.progress
    )
    assert made.name == "shot-measure.json"
    assert quote(made.name) == made.name
