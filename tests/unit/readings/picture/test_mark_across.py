"""Plain shoulders followed across their outline: how high they stand is known on every frame, and so is what the follower says of its own error."""

from __future__ import annotations

from dataclasses import replace
from importlib.resources import files
from pathlib import Path

import numpy as np
import pytest
from tests.make.carried_edges import OVER, beside_outlines, carried, wrong_by
from tests.make.shoulders import MARK, SIZE, Shoulder, shoulder

from shotcrit.media import open_movie
from shotcrit.readings.acting import Across, Acting, MarkTrack, Spot
from shotcrit.readings.picture.acting_npz import acting_from_bytes, acting_to_bytes
from shotcrit.readings.picture.marks.across import nearby, with_outlines
from shotcrit.readings.picture.marks.follow import follow_in_store
from shotcrit.readings.picture.marks.frames import FrameStore, fill
from shotcrit.readings.picture.marks.outline import find_outline

HELD_APART = (41, 42)
"""Seeds that no number of the follower was set by; those were 1, 2 and 3."""


def marked(film: Shoulder) -> dict[str, MarkTrack]:
    with FrameStore(SIZE) as store:
        fill(store, enumerate(film.frames))
        tracks = follow_in_store(store, film.cast, (), SIZE)
        return {t.mark: t for t in with_outlines(store, film.cast, (), SIZE, tracks)}


def height(track: MarkTrack) -> np.ndarray:
    assert track.across is not None
    return -(track.across.y - track.xy[0, 1]) * SIZE[1]


@pytest.mark.parametrize(("seed", "lift", "busy"), [(HELD_APART[0], 2.0, 18.0), (HELD_APART[1], 0.0, 0.0)])
def test_a_plain_shoulder_is_as_high_as_it_is(seed: int, lift: float, busy: float) -> None:
    film = shoulder(seed, lift, busy=busy, frames=42)
    track = marked(film)["shoulder_left"]
    assert track.across is not None
    wrong = height(track) - film.height
    assert np.isfinite(wrong).all()
    assert np.sqrt(np.mean(wrong**2)) < 0.2
    assert np.mean(np.abs(wrong[1:]) < 1.96 * track.across.error_px[1:]) > 0.9
    risen = (height(track) + film.camera[:, 1])[36:39].mean() - (height(track) + film.camera[:, 1])[:20].mean()
    assert risen == pytest.approx(lift, abs=0.25)


def test_a_straight_steep_outline_says_how_little_it_knows() -> None:
    """Slope 0.7: a step of 1 px sideways looks like 0.7 px up; SIDEWAYS of it are open, 1.4 px. A level one knows its height."""
    steep = marked(shoulder(3, 2.0, slope=0.7, bend=0.0, frames=12))["shoulder_left"].across
    level = marked(shoulder(3, 2.0, slope=0.0, bend=0.0, frames=12))["shoulder_left"].across
    assert steep is not None
    assert level is not None
    assert 1.0 < np.median(steep.error_px[1:]) < 2.0
    assert np.median(level.error_px[1:]) < 0.2


def test_no_outline_no_height() -> None:
    film = shoulder(3, 2.0, cloth=150.0, back=150.0, busy=0.0, frames=4)
    assert find_outline(film.frames[0], MARK) is None
    assert marked(film)["shoulder_left"].across is None


def test_what_hides_the_outline_hides_the_height() -> None:
    film = shoulder(3, 0.0, frames=20)
    frames = list(film.frames)
    for i in range(8, 20):
        frames[i] = frames[i].copy()
        frames[i][40:160, 150:330] = 120
    across = marked(replace(film, frames=frames))["shoulder_left"].across
    assert across is not None
    assert np.isfinite(across.y[:8]).all()
    assert np.isnan(across.y[8:]).all()


def test_a_corner_of_the_body_is_offered() -> None:
    picture = shoulder(3, 0.0, frames=1).frames[0]
    assert nearby(picture, MARK) is None
    picture[120:128, 214:222] = 190
    spot = nearby(picture, MARK)
    assert spot is not None
    assert 212 < spot[0] < 224
    assert 118 < spot[1] < 130


def test_it_is_kept_and_comes_back() -> None:
    line = np.linspace(0.2, 0.4, 5, dtype=np.float32)
    track = MarkTrack(
        "Oona", "chest", np.full((5, 2), 0.3, np.float32), line, (0,), across=Across(line, line + 1, line + 2), instead=Spot(0, 0.25, 0.5)
    )
    (back,) = acting_from_bytes(acting_to_bytes([Acting("Oona", 2, {"chest": track})]))
    kept = back.marks["chest"]
    assert kept.instead == track.instead
    assert kept.across is not None
    assert np.array_equal(kept.across.error_px, line + 1)


RENDERED = {
    1060: ((155.0, 70.0), [(54.0, 96.0), (318.0, 240.0), (36.0, 108.0)]),
    1250: ((160.0, 110.0), [(84.0, 78.0), (324.0, 114.0), (240.0, 54.0)]),
}
"""Shown frame of the demo film: a textured spot, then plain ones beside a rendered edge; px of 480 x 270. The last is a wall, straight and steep."""


@pytest.mark.parametrize("shown", RENDERED)
def test_beside_a_rendered_edge_the_height_is_right_within_its_error(shown: int) -> None:
    textured, spots = RENDERED[shown]
    film = Path(str(files("shotcrit"))) / "demo_film" / "lantern_040_take1.mp4"
    still = next(iter(open_movie(film, first_frame=1001).pictures(shown - 1001))).luma(OVER * SIZE[0])
    frames, way = carried(np.asarray(still, np.uint8), seed=shown)
    rows = [wrong_by(track, way) for track in beside_outlines(frames, spots, textured)]
    for spot, row in zip(spots, rows, strict=True):
        assert row is not None, spot
        assert len(row) == len(frames) - 1
        wall = spot == (240.0, 54.0)
        assert np.sqrt(np.mean(row[:, 0] ** 2)) < (0.5 if wall else 0.1)
        assert np.mean(np.abs(row[:, 0]) < 1.96 * row[:, 1]) > 0.9
        # A wall that runs straight and steep says so: its height is told by a third of a pixel at best.
        assert (np.median(row[:, 1]) > 0.3) == wall
