"""Whose face is whose, by the sound of their lines: two-handers of random speech, with the noise of found mouths."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from tests.make.found_faces import clock, face, listening, said, speaking

from shotcrit.readings.faces import FoundFace
from shotcrit.readings.picture.faces.named import NOBODY, name_faces

SECONDS = 8.0
FRAMES = int(SECONDS * 24)


def two_hander(seed: int) -> tuple[tuple[FoundFace, ...], tuple[str, str]]:
    """Two faces in one shot that speak in turn, up to two frames early and three late, on sides that chance picks."""
    rng = np.random.default_rng(seed)
    sound = said([("Oona", 0.3, rng.uniform(2.5, 3.8)), ("Bram", 4.2, rng.uniform(6.0, 7.6))], rng)
    mouths = [speaking(sound, who, FRAMES, rng, late=rng.uniform(-2, 3)) for who in ("Oona", "Bram")]
    order = (0, 1) if rng.random() < 0.5 else (1, 0)
    faces = tuple(face(k + 1, mouths[i], hue=2.0 * i, x=0.3 + 0.4 * k) for k, i in enumerate(order))
    return name_faces(faces, sound, clock(SECONDS)), tuple(("Oona", "Bram")[i] for i in order)  # type: ignore[return-value]


def test_of_a_hundred_two_handers_nearly_all_are_told_right_and_none_wrong():
    told = [(tuple(f.who for f in faces), truth) for faces, truth in map(two_hander, range(100))]
    assert sum(named == truth for named, truth in told) >= 95
    assert all(name in (None, right) for named, truth in told for name, right in zip(named, truth, strict=True))


def test_who_listens_is_nobody_and_the_name_is_never_given_for_moving():
    wrong = 0
    for seed in range(40):
        rng = np.random.default_rng(seed)
        sound = said([("Oona", 0.3, 4.0)], rng)
        restless = face(1, listening(120, rng, restless=rng.uniform(0.02, 0.3)))
        talks_of_else = face(1, speaking(said([("Bram", 0.2, 4.2)], rng), "Bram", 120, rng))
        wrong += sum(
            name_faces((one, face(2, listening(120, rng), hue=2.0, x=0.2)), sound, clock(5))[0].who is not None
            for one in (restless, talks_of_else)
        )
    assert wrong <= 2


def test_one_face_over_a_cut_keeps_the_name_that_its_other_shot_gives_it():
    rng = np.random.default_rng(3)
    sound = said([("Oona", 0.3, 4.0), ("Bram", 5.0, 7.6)], rng)
    first, then = speaking(sound, "Oona", FRAMES, rng)[:110], listening(FRAMES - 110, rng)
    bram = face(3, speaking(sound, "Bram", FRAMES, rng)[110:], start=110, hue=2.0)
    named = name_faces((face(1, first), face(2, then, start=110), bram), sound, clock(SECONDS))
    assert [f.who for f in named] == ["Oona", "Oona", "Bram"]


def test_what_a_person_said_stands_and_takes_the_name_from_who_is_seen_beside_it():
    rng = np.random.default_rng(4)
    sound = said([("Oona", 0.3, 4.0)], rng)
    speaks, listens = speaking(sound, "Oona", 110, rng), listening(110, rng)
    named = name_faces((face(1, speaks, x=0.3), face(2, listens, hue=2.0, x=0.7, who="Oona")), sound, clock(5))
    assert [f.who for f in named] == [None, "Oona"]


def test_lines_without_a_name_make_a_speaking_face_a_face_and_silence_names_nobody():
    rng = np.random.default_rng(5)
    sound = said([(None, 0.3, 4.0)], rng)
    mouth = speaking(sound, None, 110, rng)
    assert name_faces((face(1, mouth),), sound, clock(5))[0].who == NOBODY
    assert name_faces((face(1, mouth),), None, clock(5))[0].who is None
    assert name_faces((face(1, mouth),), replace(sound, phones=()), clock(5))[0].who is None
