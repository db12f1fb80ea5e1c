"""Mouth, eyes, lids and head read from two heads that have nothing in common: one ray cast in three dimensions, one drawn on a card."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest
from tests.make.heads import Card, paint
from tests.make.heads3d import Heads, Pose, render
from tests.make.played import Played, placed_cast, teaching_frames

from shotcrit.errors import InputError, ReadingError
from shotcrit.geometry.eyeball import angle_between
from shotcrit.readings.acting import Acting
from shotcrit.readings.cast import Cast, Character, Placed
from shotcrit.readings.picture.acting import acting_from_marks, blinks_of, measure_marks
from shotcrit.readings.picture.acting_npz import acting_from_bytes, acting_key, acting_to_bytes
from shotcrit.readings.picture.character_model import CharacterModel

LENGTH = 30
SIZE = (340, 300)
DRAWN = (300, 300)


def wave(rate: float, phase: float = 0.0) -> np.ndarray:
    t = 2 * np.pi * rate * np.arange(LENGTH) / 24
    return np.sin(t + phase) - np.sin(phase)


def score() -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
    """(opening, width, lids, gaze): shut on frame 0 and on every syllable's edge, a blink over frames 14 to 18, a dart every 6 frames."""
    opening = np.clip(0.55 * np.sin(2 * np.pi * 2.2 * np.arange(LENGTH) / 24), 0, 1)
    width = 1 + 0.14 * wave(1.3)
    lids = np.ones(LENGTH)
    lids[14:19] = 0.55, 0.1, 0, 0.1, 0.55
    rng = np.random.default_rng(3)
    gaze = np.repeat(rng.uniform((-20, -10), (20, 10), (5, 2)), 6, axis=0)
    gaze[:2] = 0
    return opening, width, lids, gaze


@cache
def solid() -> Heads:
    opening, width, lids, gaze = score()
    turn = np.column_stack([11 * wave(0.6), 5 * wave(0.5, 1), 4 * wave(0.4)])
    at = np.column_stack([0.1 * wave(0.5), 0.05 * wave(0.7), 2 + 0.1 * wave(0.3)])
    poses = [Pose(tuple(turn[i]), tuple(at[i]), tuple(gaze[i]), lids[i], opening[i], width[i]) for i in range(LENGTH)]
    return render(poses, SIZE)


@cache
def drawn() -> Heads:
    opening, width, lids, gaze = score()
    at = np.column_stack([150 + 15 * wave(0.5), 110 + 8 * wave(0.6)])
    height, turn, lean = 215 * (1 + 0.06 * wave(0.3)), 8 * wave(0.4), 0.04 * wave(0.5)
    cards = [Card(height[i], tuple(at[i]), turn[i], (lean[i], 0), 1, tuple(gaze[i]), lids[i], opening[i], width[i]) for i in range(LENGTH)]
    return paint(cards, DRAWN)


FILMS = {"solid": solid, "drawn": drawn}


@cache
def measured(name: str) -> tuple[Acting, dict[str, CharacterModel], dict[str, dict[str, int]]]:
    film = FILMS[name]()
    acting, models, worth = measure_marks(Played(film.frames), placed_cast(film, 0, teaching_frames(film)), ())
    return acting[0], models, worth


@pytest.mark.parametrize("name", FILMS)
def test_gaze_within_two_degrees_and_its_error_bar_covers_it(name: str) -> None:
    film, (acting, _, _) = FILMS[name](), measured(name)
    assert set(acting.gaze) == {"left", "right"}
    wrong, bar = [], []
    for side, gaze in acting.gaze.items():
        wrong.append(angle_between(gaze.direction, film.gaze[side]))
        bar.append(gaze.error_deg)
    off, stated = np.concatenate(wrong), np.concatenate(bar)
    known = np.isfinite(off)
    assert known.mean() > 0.75
    assert np.median(off[known]) < 2.0
    assert np.quantile(off[known], 0.95) < 5.0
    assert np.mean(off[known] < 1.645 * stated[known]) >= 0.9


@pytest.mark.parametrize("name", FILMS)
def test_irises_within_a_pixel(name: str) -> None:
    film, (acting, _, _) = FILMS[name](), measured(name)
    for side, gaze in acting.gaze.items():
        high, wide = film.frames[0].shape
        off = np.linalg.norm(gaze.iris * (wide, high) - 0.5 - film.marks[f"iris_{side}"], axis=1)
        assert np.nanmedian(off) < 1.0


@pytest.mark.parametrize("name", FILMS)
def test_a_blink_is_an_event_and_hides_the_gaze(name: str) -> None:
    acting, _, _ = measured(name)
    blinks = blinks_of([acting], 24)
    assert any(abs(b.shut - 16) <= 1 and not b.partial for b in blinks)
    assert all(b.first >= 12 and b.last <= 20 for b in blinks)
    for side, gaze in acting.gaze.items():
        assert np.isnan(gaze.direction[16]).all(), side
        assert np.isnan(gaze.iris[16]).all(), side
        assert acting.lids[side][16] < 0.25
        assert acting.lids[side][0] == pytest.approx(1, abs=0.05)


def test_eyes_that_look_far_to_the_side_do_not_blink() -> None:
    """Nor do they where the light goes round: the white, then alone between the lids, is shaded unlike the skin."""
    far = np.repeat([0, 30, 38, 0, -20, -30, -38, 0], 3)
    film = render([Pose(at=(0, 0, 1.5), gaze=(float(g), 0)) for g in far], (250, 230))
    (acting,) = acting_from_marks(Played(film.frames), placed_cast(film, 0, ()), ())
    assert blinks_of([acting], 24) == ()
    best = np.maximum(*(acting.lids[side] for side in ("left", "right")))
    assert best.min() > 0.8
    assert np.mean([np.isfinite(gaze.direction[:, 0]).mean() for gaze in acting.gaze.values()]) > 0.9


@pytest.mark.parametrize("name", FILMS)
def test_mouth_within_eight_percent_of_its_range(name: str) -> None:
    film, (acting, _, _) = FILMS[name](), measured(name)
    assert acting.mouth is not None
    for seen, true in ((acting.mouth.opening, film.opening), (acting.mouth.width, film.width)):
        assert np.median(np.abs(seen - true)) / np.ptp(true) < 0.08
        assert np.corrcoef(seen, true)[0, 1] > 0.92


@pytest.mark.parametrize("name", FILMS)
def test_shut_frames_told_from_open_ones(name: str) -> None:
    film, (acting, _, _) = FILMS[name](), measured(name)
    assert acting.mouth is not None
    shut, open_ = film.opening < 0.005, film.opening > 0.06
    assert shut.sum() > 5
    assert open_.sum() > 5
    right = np.concatenate([acting.mouth.meets[shut] > 0.5, acting.mouth.meets[open_] < 0.5])
    assert right.mean() >= 0.95


@pytest.mark.parametrize("name", FILMS)
def test_what_the_marked_frames_taught_is_said(name: str) -> None:
    acting, _, _ = measured(name)
    assert acting.mouth is not None
    assert {"shut", "open", "rest"} <= set(acting.mouth.taught)
    assert "mouth" not in acting.lacks


def test_a_head_that_turns_is_followed() -> None:
    acting, _, _ = measured("solid")
    assert acting.head is not None
    yaw = np.degrees(np.arctan2(acting.head.direction[:, 0], -acting.head.direction[:, 2]))
    truth = 11 * wave(0.6)
    # The face looks to -z and yaw turns it to -x: seen from the lens, positive yaw goes to screen left.
    assert np.abs(yaw + truth).max() < 2.5
    assert acting.head.steady is not None
    assert np.isfinite(acting.head.steady).all()


def test_the_steadying_map_brings_marks_back_to_their_reference() -> None:
    film, (acting, _, _) = solid(), measured("solid")
    assert acting.head is not None
    assert acting.head.steady is not None
    nose = film.marks["nose"]
    back = np.einsum("nij,nj->ni", acting.head.steady, np.column_stack([nose, np.ones(LENGTH)]))
    assert np.median(np.linalg.norm(back - nose[0], axis=1)) < 3.0


def test_frames_worth_marking_are_what_they_are_called() -> None:
    film, (_, _, worth) = solid(), measured("solid")
    assert film.opening[worth["Ada"]["open"]] > 0.7 * film.opening.max()
    assert film.opening[worth["Ada"]["shut"]] < 0.05
    assert film.width[worth["Ada"]["wide"]] > 1


def test_a_mouth_never_marked_shut_is_said_to_lack_that() -> None:
    film = drawn()
    open_ = teaching_frames(film)[1]
    cast = placed_cast(film, open_, [open_])
    (acting,) = acting_from_marks(Played(film.frames), cast, ())
    assert acting.mouth is not None
    assert "shut" not in acting.mouth.taught
    assert "lips shut" in acting.lacks["mouth"]


def test_too_few_marks_say_what_is_missing() -> None:
    film = drawn()
    marks = {"nose": placed_cast(film, 0, ()).characters[0].marks["nose"]}
    (acting,) = acting_from_marks(Played(film.frames[:3]), Cast(characters=(Character(name="Ada", marks=marks),)), ())
    assert acting.mouth is None
    assert not acting.gaze
    assert set(acting.lacks) == {"mouth", "eyes"}
    assert np.isfinite(acting.marks["nose"].xy).all()


def test_nobody_marked_nothing_measured() -> None:
    (acting,) = acting_from_marks(Played(drawn().frames[:2]), Cast(characters=(Character(name="Ada"),)), ())
    assert acting.lacks == {"marks": "marks placed in the picture"}


def test_nothing_is_measured_beyond_a_cut() -> None:
    film = drawn()
    (acting,) = acting_from_marks(Played(film.frames[:10]), placed_cast(film, 0, ()), (5,))
    assert acting.mouth is not None
    assert np.isfinite(acting.mouth.opening[:5]).all()
    assert np.isnan(acting.mouth.opening[5:]).all()
    assert all(np.isnan(g.direction[5:]).all() for g in acting.gaze.values())
    assert all(np.isnan(t.xy[5:]).all() for t in acting.marks.values())


def test_what_was_learnt_serves_the_next_shot() -> None:
    film, (_, models, _) = drawn(), measured("drawn")
    kept = CharacterModel.from_bytes(models["Ada"].to_bytes())
    assert len(kept.mouths) == 3
    again = placed_cast(film, 0, ())
    (plain,) = acting_from_marks(Played(film.frames[:14]), again, ())
    (helped,) = acting_from_marks(Played(film.frames[:14]), again, (), known={"Ada": kept})
    assert plain.mouth is not None
    assert helped.mouth is not None
    assert plain.mouth.taught == ("shut", "rest")
    assert "open" in helped.mouth.taught
    missed = [np.abs(m.opening - film.opening[:14]).max() for m in (plain.mouth, helped.mouth)]
    assert missed[1] < 0.5 * missed[0]


@pytest.mark.parametrize("data", [b"", b"no model", b"PK\x03\x04 torn"])
def test_a_broken_model_is_one_sentence(data: bytes) -> None:
    with pytest.raises(InputError, match="no model of a character"):
        CharacterModel.from_bytes(data, name="ada.npz")


def test_kept_acting_comes_back_as_it_was() -> None:
    acting, _, _ = measured("solid")
    (back,) = acting_from_bytes(acting_to_bytes([acting]))
    assert back.mouth is not None
    assert acting.mouth is not None
    assert back.head is not None
    assert acting.head is not None
    np.testing.assert_array_equal(back.mouth.opening, acting.mouth.opening)
    np.testing.assert_array_equal(back.head.direction, acting.head.direction)
    np.testing.assert_array_equal(back.marks["nose"].xy, acting.marks["nose"].xy)
    np.testing.assert_array_equal(back.gaze["left"].direction, acting.gaze["left"].direction)
    assert (back.who, back.lacks, back.mouth.taught) == (acting.who, acting.lacks, acting.mouth.taught)


def test_damaged_kept_acting_is_refused() -> None:
    whole = acting_to_bytes([measured("solid")[0]])
    for torn in (b"", whole[:200], b"x" * 50):
        with pytest.raises(ReadingError, match="measure it again"):
            acting_from_bytes(torn)


def test_the_key_follows_marks_and_cuts_but_not_looks() -> None:
    cast = placed_cast(drawn(), 0, ())
    key = acting_key("a", cast, (5,))
    looking = cast.model_copy(update={"looks": ({"who": "Ada", "at": "camera"},)})
    moved = Cast(characters=(Character(name="Ada", marks={"nose": (Placed(frame=1, x=0.5, y=0.5),)}),))
    assert acting_key("a", looking, (5,)) == key
    assert len({key, acting_key("b", cast, (5,)), acting_key("a", moved, (5,)), acting_key("a", cast, (6,))}) == 4


def test_the_same_pictures_and_cast_give_the_same_answer() -> None:
    film = drawn()
    runs = [acting_from_marks(Played(film.frames[:6]), placed_cast(film, 0, ()), ()) for _ in range(2)]
    assert acting_to_bytes(runs[0]) == acting_to_bytes(runs[1])
