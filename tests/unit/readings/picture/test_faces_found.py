"""Faces found in one short film: a head that speaks, is covered by a hand, and turns away; read by the real networks, held to the renderer's own truth."""

from __future__ import annotations

from dataclasses import dataclass, replace

import cv2
import numpy as np
import pytest
from tests.make.found_faces import clock, said, speaking
from tests.make.found_heads import HELD_APART, Now, Shown, picture, points

from shotcrit.checks.lipsync.offset import best_offset
from shotcrit.readings.bundle import SoundReadings
from shotcrit.readings.faces import FoundFace
from shotcrit.readings.picture.faces.found import AGAIN, PRESENCE, SLIP, SPREAD, SURELY_OPEN, SURELY_SHUT, find_faces
from shotcrit.readings.picture.faces.named import name_faces
from shotcrit.readings.picture.faces.proposed import CHIN_DEG, proposed_marks
from shotcrit.readings.picture.faces.reader import HEADS, MOST, PLACE, FaceReader

pytestmark = pytest.mark.usefixtures("weights")
SIZE = (256, 192)
SPEAKS, COVERED, AWAY = range(50), range(50, 60), range(60, 70)
FRAMES = 70


@dataclass(frozen=True)
class Found:
    poses: list[Now]
    sound: SoundReadings
    rows: np.ndarray
    faces: tuple[FoundFace, ...]


@pytest.fixture(scope="module")
def found() -> Found:
    rng = np.random.default_rng(11)
    sound = said([("Oona", 0.2, 1.9)], rng)
    opening = speaking(sound, "Oona", FRAMES, np.random.default_rng(1), late=2.0, noise=0.0)
    poses = [
        Now(size=84, x=128 + 4 * np.sin(i / 9), y=70, turn=(14 * np.sin(i / 14) if i < AWAY.start else min(90.0, 30 * (i - AWAY.start)), 0, 0),
            opening=float(opening[i]), hidden=i in COVERED)
        for i in range(FRAMES)
    ]  # fmt: skip
    reader = FaceReader()
    rows = np.stack([reader.feed(Shown(i, picture([(HELD_APART[0], now)], SIZE, seed=i))) for i, now in enumerate(poses)])  # type: ignore[arg-type]
    return Found(poses, sound, rows, find_faces(rows, (), SIZE))


def test_a_row_has_a_place_for_each_face_and_nothing_where_there_is_none(found):
    assert found.rows.shape == (FRAMES, MOST, PLACE)
    assert np.isfinite(found.rows[: SPEAKS.stop, 0, 0]).all()
    assert not np.isfinite(found.rows[:, 1:]).any()


def test_where_a_face_is_accepted_its_marks_lie_within_six_hundredths_of_it(found):
    face = found.faces[0]
    worst = 0.0
    for i in np.flatnonzero(face.read) + face.span.start:
        truth = points(HELD_APART[0], found.poses[i])
        for name in ("mouth_left", "mouth_right", "lip_upper", "lip_lower", "eye_left", "eye_right"):
            place = face.points[name][i - face.span.start] * SIZE - 0.5
            worst = max(worst, float(np.linalg.norm(place - truth[name])) / found.poses[i].size)
    assert face.read[: SPEAKS.stop].mean() > 0.95
    assert worst < 0.06


def test_the_mouth_opens_as_it_was_made_to_and_its_lines_are_two_frames_early(found):
    opening = found.faces[0].mouth.opening[: SPEAKS.stop]
    made = np.array([now.opening for now in found.poses])[: SPEAKS.stop]
    known = np.isfinite(opening)
    assert known.mean() > 0.9
    assert np.corrcoef(opening[known], made[known])[0, 1] > 0.86
    shift = best_offset(opening.astype(float), found.sound.phones, clock(FRAMES / 24), frames=np.flatnonzero(known))
    assert shift is not None
    assert abs(shift.frames - 2.0) < 0.5


def test_a_covered_mouth_and_a_profile_are_refused_and_told_by_their_cause(found):
    read = {i for face in found.faces for i in (np.flatnonzero(face.read) + face.span.start).tolist()}
    assert len(read & set(COVERED)) <= 1
    assert not read & set(AWAY[3:])
    causes = {part.why: part.span for face in found.faces for part in face.unread}
    assert causes["covered"].start in range(COVERED.start, COVERED.start + 3)


def test_the_face_gets_the_name_of_who_speaks_and_frames_worth_marking(found):
    named = name_faces(found.faces, found.sound, clock(FRAMES / 24))[0]
    assert named.who == "Oona"
    made = [now.opening for now in found.poses]
    assert set(named.worth) == {"facing", "open", "shut", "wide"}
    assert made[named.worth["open"]] > 0.7 * max(made)
    assert made[named.worth["shut"]] < 0.15 * max(made)
    read = {name: float(named.mouth.opening[index - named.span.start]) for name, index in named.worth.items()}
    assert all(gap <= SURELY_SHUT or gap >= SURELY_OPEN for gap in read.values()), read


def test_what_the_networks_doubt_is_no_face_that_is_judged(found):
    assert not find_faces(np.where(np.arange(PLACE) == 1, 0.55, found.rows), (), SIZE), "the detector was never sure"
    for head, bad in (("presence", PRESENCE - 0.01), ("spread", SPREAD + 0.001), ("slip", SLIP + 0.001), ("again", AGAIN - 0.01)):
        doubted = np.where(np.isfinite(found.rows) & (np.arange(PLACE) == HEADS.index(head)), np.float32(bad), found.rows)
        assert not find_faces(doubted, (), SIZE)[0].read.any()


@pytest.mark.parametrize("design", HELD_APART, ids=lambda design: design.name)
def test_a_mouth_that_is_covered_all_along_is_read_on_no_frame(design):
    poses = [Now(size=84, x=128, y=70, turn=(3.0 * i - 9, 0, 0), opening=0.2) for i in range(7)]
    assert _read(design, poses).sum() == len(poses)
    assert not _read(design, [replace(now, hidden=True) for now in poses]).any()


def _read(design, poses):
    reader = FaceReader()
    rows = np.stack([reader.feed(Shown(i, picture([(design, now)], SIZE, seed=i))) for i, now in enumerate(poses)])  # type: ignore[arg-type]
    return find_faces(rows, (), SIZE)[0].read


def test_a_chin_is_proposed_only_of_a_face_that_looks_at_us(found):
    face = found.faces[0]
    for turned, proposed in ((0.0, True), (CHIN_DEG - 1, True), (CHIN_DEG + 1, False), (-CHIN_DEG - 1, False)):
        seen = replace(face, turned=np.full_like(face.turned, turned))
        facing = next(one for one in proposed_marks(seen) if one.shape == "facing")
        assert ("chin" in facing.marks) is proposed
        assert {"mouth_left", "lip_upper", "eye_left"} <= set(facing.marks)


def test_a_face_that_is_doubted_on_many_frames_is_read_on_none(found):
    doubted = found.rows.copy()
    doubted[: SPEAKS.stop : 3, 0, 2] = PRESENCE - 0.01
    assert not any(face.read.any() for face in find_faces(doubted, (), SIZE))
    doubted = found.rows.copy()
    doubted[: SPEAKS.stop : 12, 0, 2] = PRESENCE - 0.01
    assert find_faces(doubted, (), SIZE)[0].read.sum() > 0.8 * found.faces[0].read.sum()


def test_an_empty_picture_and_one_too_small_for_any_face_give_rows_of_nothing():
    reader = FaceReader()
    for frame in (
        np.zeros((144, 256, 3), np.uint8),
        np.full((90, 160, 3), 128, np.uint8),
        cv2.resize(np.zeros((2, 2, 3), np.uint8), (90, 400)),
    ):
        assert not np.isfinite(reader.feed(Shown(0, frame))).any()  # type: ignore[arg-type]
