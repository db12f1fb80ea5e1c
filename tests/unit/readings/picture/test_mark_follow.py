"""Following against exact paths: two painters, blur, changing light, compression, occlusion, cuts, corrections."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest
from tests.make.moving import Moving, cloth, cover, disc_field, path

from shotcrit.errors import ReadingError, Stopped
from shotcrit.progress import StopAfter
from shotcrit.readings.cast import Cast, Placed, Prop
from shotcrit.readings.picture.marks.follow import follow_marks

SIZE = (960, 540)
SMALL = (480, 270)
POINTS = np.array([[0, 0], [60, 30], [-70, 20], [20, -80], [-40, -60], [80, -50], [-90, 70], [50, 90]], float)
NEAR = POINTS * 0.5


def cast_for(film: Moving, anchors: tuple[int, ...], size: tuple[int, int], first_frame: int = 1) -> Cast:
    def placed(track: np.ndarray) -> tuple[Placed, ...]:
        spots = [(a, (track[a] + 0.5) / size) for a in anchors]
        return tuple(Placed(frame=a + first_frame, x=float(x), y=float(y)) for a, (x, y) in spots)

    return Cast(props=(Prop(name="kite", marks={f"m{k}": placed(track) for k, track in enumerate(film.truth)}),))


def follow(film: Moving, anchors: tuple[int, ...], size: tuple[int, int], cuts: tuple[int, ...] = ()) -> tuple[np.ndarray, np.ndarray]:
    """(distance from the truth, stated error), px, [shape=(marks, frames)]; nan where not followed."""
    tracks = follow_marks(enumerate(film.frames), cast_for(film, anchors, size), cuts, size)
    xy = np.stack([t.xy * size - 0.5 for t in tracks])
    return np.linalg.norm(xy - film.truth, axis=2), np.stack([t.error_px for t in tracks])


@cache
def soft() -> Moving:
    return cloth(SIZE, path(40), POINTS)


@cache
def hidden() -> Moving:
    return cover(cloth(SMALL, path(40, swing=20), NEAR, radius=90), 6, 34, speed=14, width=110)


def others(values: np.ndarray, anchors: tuple[int, ...]) -> np.ndarray:
    return np.delete(values, anchors, axis=1)


@pytest.mark.parametrize("seed", [0, 7])
def test_textured_marks_stay_within_a_quarter_pixel(seed: int) -> None:
    film = soft() if seed == 0 else cloth(SIZE, path(30, seed=7, swing=120, turn=0.5, grow=0.2), POINTS, seed=11, quality=60)
    wrong, stated = follow(film, (0,), SIZE)
    wrong, stated = others(wrong, (0,)), others(stated, (0,))
    assert np.isfinite(wrong).all()
    assert np.median(wrong) < 0.25
    assert np.quantile(wrong, 0.95) < 1.0
    assert np.mean(wrong < 1.96 * stated) > 0.9


def test_painter_without_resampling_agrees() -> None:
    film = disc_field(SMALL, path(20, seed=3, swing=40), NEAR)
    wrong, _ = follow(film, (0,), SMALL)
    seen = np.isfinite(others(wrong, (0,)))
    assert seen.mean() > 0.95
    assert np.median(others(wrong, (0,))[seen]) < 0.25
    assert np.quantile(others(wrong, (0,))[seen], 0.95) < 1.0


def test_both_ways_from_the_middle() -> None:
    wrong, stated = follow(soft(), (20,), SIZE)
    assert wrong[:, 20].max() < 1e-3
    assert np.nanmax(stated[:, 20]) == 0
    assert np.isfinite(wrong).all()
    assert np.quantile(wrong, 0.95) < 1.0


def test_no_drift_over_ten_seconds() -> None:
    film = cloth((320, 240), path(240, swing=25), NEAR[:3], radius=80)
    wrong, _ = follow(film, (0,), (320, 240))
    assert np.nanmax(wrong[:, -24:]) < 1.5
    assert np.isfinite(wrong).mean() > 0.99


def test_hidden_marks_are_lost_within_two_frames_and_never_invented() -> None:
    film = hidden()
    wrong, _ = follow(film, (0,), SMALL)
    covered, lost = np.isnan(film.truth[..., 0]), np.isnan(wrong) & np.isfinite(film.truth[..., 0])
    tracks = follow_marks(enumerate(film.frames), cast_for(film, (0,), SMALL), (), SMALL)
    gone = np.stack([np.isnan(t.xy[:, 0]) for t in tracks])
    assert covered.sum() > 20
    since = np.stack([np.array([row[max(0, i - 2) : i + 1].all() and i >= 2 for i in range(len(row))]) for row in covered])
    assert gone[since].all(), "covered for three frames and still followed"
    for row, (hides, misses) in enumerate(zip(covered, gone, strict=True)):
        if hides.any():
            assert abs(int(np.argmax(misses)) - int(np.argmax(hides))) <= 2, row
    before = np.cumsum(covered, axis=1) == 0
    assert lost[before].mean() < 0.05
    assert np.nanmax(wrong) < 1.5


def test_a_covered_mark_says_nan_in_its_error_too() -> None:
    tracks = follow_marks(enumerate(hidden().frames), cast_for(hidden(), (0,), SMALL), (), SMALL)
    for track in tracks:
        assert np.array_equal(np.isnan(track.xy[:, 0]), np.isnan(track.error_px))


def test_never_over_a_cut() -> None:
    wrong, _ = follow(soft(), (10,), SIZE, cuts=(5, 30))
    assert np.isnan(wrong[:, :5]).all()
    assert np.isnan(wrong[:, 30:]).all()
    assert np.isfinite(wrong[:, 5:30]).all()


def test_a_correction_moves_its_neighbours_and_only_its_side() -> None:
    film = soft()
    bent = Moving(film.frames, film.truth.copy())
    bent.truth[:, 30] += 4
    cast = cast_for(bent, (0, 15, 30), SIZE)
    tracks = follow_marks(enumerate(film.frames), cast, (), SIZE)
    xy = np.stack([t.xy * SIZE - 0.5 for t in tracks])
    off = np.median(np.linalg.norm(xy - film.truth, axis=2), axis=0)
    assert off[30] == pytest.approx(np.hypot(4, 4), abs=0.01)
    assert off[35] == pytest.approx(np.hypot(4, 4), abs=0.5)
    assert off[1:15].max() < 0.25
    assert off[16] < off[29]
    assert tracks[0].placed == (0, 15, 30)
    assert tracks[0].error_px[22] > 1, "two anchors that contradict each other must widen the error"


def test_the_shown_number_of_the_first_frame_counts() -> None:
    film = soft()
    cast = cast_for(film, (3,), SIZE, first_frame=1001)
    track = follow_marks(enumerate(film.frames[:8]), cast, (), SIZE, first_frame=1001)[0]
    assert track.placed == (3,)


def test_errors_are_in_pixels_of_the_full_size_frame() -> None:
    film = hidden()
    one = follow_marks(enumerate(film.frames[:6]), cast_for(film, (0,), SMALL), (), SMALL)[0]
    four = follow_marks(enumerate(film.frames[:6]), cast_for(film, (0,), SMALL), (), (4 * 480, 4 * 270))
    del four
    assert one.error_px[1] >= 0.05


def test_a_mark_placed_outside_the_shot_is_nowhere() -> None:
    film = soft()
    cast = Cast(props=(Prop(name="kite", marks={"handle": (Placed(frame=900, x=0.5, y=0.5),)}),))
    (track,) = follow_marks(enumerate(film.frames[:4]), cast, (), SIZE)
    assert np.isnan(track.xy).all()
    assert track.placed == ()


def test_blank_pictures_lose_everything_but_the_placed_frame() -> None:
    blank = [np.full((120, 160), 90, np.uint8)] * 5
    cast = Cast(props=(Prop(name="kite", marks={"handle": (Placed(frame=3, x=0.5, y=0.5),)}),))
    (track,) = follow_marks(enumerate(blank), cast, (), (160, 120))
    assert np.flatnonzero(np.isfinite(track.error_px)).tolist() == [2]


def test_pictures_out_of_order_are_refused() -> None:
    film = soft()
    with pytest.raises(ReadingError, match="one after the other"):
        follow_marks([(0, film.frames[0]), (2, film.frames[2])], cast_for(film, (0,), SIZE), (), SIZE)


def test_it_can_be_stopped() -> None:
    with pytest.raises(Stopped):
        follow_marks(enumerate(soft().frames), cast_for(soft(), (0,), SIZE), (), SIZE, progress=StopAfter(1))
