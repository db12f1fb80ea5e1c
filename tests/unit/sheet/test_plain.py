"""What stands at the top of table, page and PDF: black, fades and cards by their frames, and no rhythm where nothing changes."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
from tests.make.films import held, make_film, numbered
from tests.make.measured import measured
from tests.make.picture_rows import read_film

from shotcrit.checks.measured import Measured
from shotcrit.clock import Span
from shotcrit.readings.seen import Fade
from shotcrit.sheet.plain import about


def test_black_fades_and_cards_are_told_by_their_frames() -> None:
    whole = measured()
    assert whole.readings.picture is not None
    seen = replace(
        whole.readings.picture,
        black=(Span(0, 8), Span(200, 201)), cards=(Span(20, 44),), fades=(Fade(Span(8, 20), "in"), Fade(Span(60, 66), "dissolve")),
    )  # fmt: skip
    first = whole.readings.movie.first_frame
    rows = dict(about(replace(whole, readings=replace(whole.readings, picture=seen))))
    assert rows["black"] == f"{first} to {first + 7}, {first + 200}"
    assert rows["still cards"] == f"{first + 20} to {first + 43}"
    assert rows["fades"] == f"in over {first + 8} to {first + 19}, dissolve over {first + 60} to {first + 65}"
    assert not {"black", "still cards", "fades"} & dict(about(whole)).keys()


def test_a_black_leader_has_no_rhythm(tmp_path: Path) -> None:
    """It was said to be on ones."""
    black = np.zeros((36, 64, 3), np.uint8)
    rows = dict(about(Measured(read_film(make_film(tmp_path / "black.mp4", held([black], [0] * 24))), (), ())))
    assert (rows["black"], rows["cadence"]) == ("1 to 24", "nothing changes")
    moving = dict(about(Measured(read_film(make_film(tmp_path / "kite.mp4", numbered(24, size=(64, 36)))), (), ())))
    assert moving["cadence"] != "nothing changes"
