"""A mouth read twice, by a found face's points and by confirmed marks: taken together only where a person confirmed that face."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from tests.make.found_faces import face

from shotcrit.readings.acting import Acting, MarkTrack, Mouth
from shotcrit.readings.cast import MOUTH_MARKS
from shotcrit.readings.faces import FoundFace
from shotcrit.readings.picture.faces.joined import joined_mouth

FRAMES, START = 60, 10
TRUTH = 0.25 + 0.2 * np.sin(np.arange(FRAMES) / 3)


def _face(opening: np.ndarray) -> FoundFace:
    one = face(1, opening, start=START, who="Oona")
    points = {name: one.middle + np.array((0.01 * k, 0.02 * k), np.float32) for k, name in enumerate(MOUTH_MARKS)}
    return replace(one, points=points, worth={"open": START + 5, "shut": START + 15})


def _actor(opening: np.ndarray, of: FoundFace, *, placed: tuple[int, ...] = (START + 5,), off: float = 0.0) -> Acting:
    def over(values: np.ndarray) -> np.ndarray:
        whole = np.full(START + FRAMES + 5, np.nan, np.float32)
        whole[START : START + FRAMES] = values
        return whole

    marks = {}
    for name in MOUTH_MARKS:
        xy = np.full((START + FRAMES + 5, 2), np.nan, np.float32)
        xy[START : START + FRAMES] = of.points[name] + off
        marks[name] = MarkTrack("Oona", name, xy, over(np.zeros(FRAMES)), placed)
    small = over(np.full(FRAMES, 0.01))
    return Acting("Oona", 2, marks, Mouth(over(opening), over(np.ones(FRAMES)), small, small, over(np.zeros(FRAMES))))


def test_two_readings_of_one_mouth_err_less_than_either_and_say_what_they_disagree_by():
    rng = np.random.default_rng(3)
    points, looks = (TRUTH + 0.05 * rng.standard_normal(FRAMES) for _ in range(2))
    of = _face(points)
    known = _actor(looks, of)
    joined = joined_mouth(known, [of]).mouth
    assert joined is not None
    assert known.mouth is not None
    here = slice(START, START + FRAMES)

    def off(opening: np.ndarray) -> float:
        return float(np.std(opening - TRUTH))

    assert off(joined.opening[here]) < 0.85 * min(off(points), off(looks))
    apart = np.abs(joined.opening[here] - looks)
    assert (np.delete(joined.opening_error[here] - apart, 5) >= -1e-6).all()
    assert joined.opening[START + 5] == pytest.approx(looks[5]), "what a person marked stays"
    assert not np.isfinite(joined.opening[: START - 1]).any()


def test_the_points_are_taken_in_the_scale_of_the_marks():
    of = _face(1.5 * TRUTH)
    joined = joined_mouth(_actor(TRUTH, of), [of]).mouth
    assert joined is not None
    assert joined.opening[START : START + FRAMES] == pytest.approx(TRUTH, abs=1e-3)


def test_a_face_that_nobody_confirmed_is_not_taken_in():
    of = _face(TRUTH + 0.2)
    for actor, faces in (
        (_actor(TRUTH, of, placed=(START + 6,)), [of]),
        (_actor(TRUTH, of, off=0.05), [of]),
        (_actor(TRUTH, of), [replace(of, who="Bram")]),
        (_actor(TRUTH, of), []),
    ):
        assert joined_mouth(actor, faces) is actor
