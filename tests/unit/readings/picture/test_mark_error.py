"""What a mark's error claims, against where the mark truly is: on rendered figures that turn, exact places from the shot's own scene."""

from __future__ import annotations

from dataclasses import replace
from importlib.resources import files
from pathlib import Path

import numpy as np
import pytest

from shotcrit.measuring.acting import acting_of
from shotcrit.measuring.demo import FIRST_FRAME, STEM
from shotcrit.measuring.measure import open_medium
from shotcrit.measuring.request import request_from_files
from shotcrit.progress import Quiet
from shotcrit.readings.bundle import Readings
from shotcrit.readings.cast import Placed
from shotcrit.readings.picture.marks.error import ARM, turned_away
from shotcrit.readings.picture.marks.follow import follow_marks
from shotcrit.readings.picture.marks.frames import WORK_WIDTH
from shotcrit.store.cache import open_cache

FILM = Path(str(files("shotcrit") / "demo_film"))
FRAMES = 48
MARKS = {"Oona": ("nose", "chest", "shoulder_right", "knee_left"), "Bram": ("nose", "chest", "hand_right"), "lantern": ("handle",)}


def test_squeeze_alone_counts() -> None:
    turn = np.array([[np.cos(0.7), -np.sin(0.7)], [np.sin(0.7), np.cos(0.7)]])
    assert turned_away(1.3 * turn) == pytest.approx(0, abs=1e-3)
    assert turned_away(turn @ np.diag([1.1, 0.9])) == pytest.approx(ARM * np.log(1.1 / 0.9), rel=1e-6)
    assert turned_away(np.diag([1.1, 0.9]) @ turn) == pytest.approx(ARM * np.log(1.1 / 0.9), rel=1e-6)


def test_nine_of_ten_marks_on_turning_figures_lie_within_twice_their_error(tmp_path: Path) -> None:
    """Marks placed exactly, on the first frame only."""
    stem = FILM / f"{STEM}_take1"
    asked = request_from_files(Path(f"{stem}.mp4"), cast=Path(f"{stem}.cast.json"), scene=Path(f"{stem}.glb"), first_frame=FIRST_FRAME)
    assert asked.cast is not None
    movie = open_medium(asked)
    size = (movie.info.width or 0, movie.info.height or 0)
    bare = asked.cast.model_copy(
        update={
            "characters": tuple(c.model_copy(update={"marks": {}}) for c in asked.cast.characters),
            "props": tuple(p.model_copy(update={"marks": {}}) for p in asked.cast.props),
        }
    )
    kept = open_cache(root=tmp_path).medium(movie.info.sha256)
    exact = acting_of(Readings(movie.info, movie.clock), replace(asked, cast=bare), movie, kept, Quiet())
    truth = {(a.who, name): a.marks[name].xy for a in exact.acting if a.level == 3 for name in MARKS.get(a.who, ()) if name in a.marks}
    assert len(truth) >= 7

    def placed(part):
        spots = {name: truth[part.name, name][0] for name in MARKS.get(part.name, ()) if (part.name, name) in truth}
        return part.model_copy(update={"marks": {n: (Placed(frame=FIRST_FRAME, x=float(x), y=float(y)),) for n, (x, y) in spots.items()}})

    cast = bare.model_copy(update={"characters": tuple(map(placed, bare.characters)), "props": tuple(map(placed, bare.props))})
    pictures = ((p.index, p.luma(WORK_WIDTH)) for p in movie.pictures(0, FRAMES))
    tracks = follow_marks(pictures, cast, (), size, first_frame=FIRST_FRAME)
    wrong = np.stack([np.linalg.norm((t.xy - truth[t.who, t.mark][:FRAMES]) * size, axis=1)[1:] for t in tracks])
    said = np.stack([t.error_px[1:] for t in tracks])
    seen = np.isfinite(wrong)
    assert seen.mean() > 0.8
    assert np.mean(wrong[seen] < 2 * said[seen]) > 0.9
    assert np.median(said[seen]) < 6 * np.median(wrong[seen]), "an error that covers everything says nothing"
    assert all(np.all(np.nan_to_num(t.noise_px) <= np.nan_to_num(t.error_px) + 1e-4) for t in tracks if t.noise_px is not None)
