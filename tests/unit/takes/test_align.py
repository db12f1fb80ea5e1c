from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import numpy as np
import pytest
from tests.make.take_pairs import Plan, make_pair, voice, within

from shotcrit.clock import FrameClock
from shotcrit.errors import InputError
from shotcrit.takes.align import line_up
from shotcrit.takes.heard import listen_along
from shotcrit.takes.side import Side


@pytest.mark.parametrize(("kind", "named"), [("cut", "gone"), ("slower", "slower"), ("framing", None), ("slate", "inserted")])
def test_frames_are_found_again_with_sound_and_by_picture_alone(kind: str, named: str | None) -> None:
    pair = make_pair(kind, seed=1)
    old, new = pair.sides()
    found = line_up(old, new)
    assert within(pair, found.old_of, 1).mean() >= 0.98
    if named is not None:
        assert named in {stretch.kind for stretch in found.stretches}
    assert len(found.new_of) == len(old)
    silent = line_up(replace(old, wave=None), replace(new, wave=None))
    assert within(pair, silent.old_of, 2).mean() >= 0.95


def test_a_sound_is_found_again_to_a_hundredth_of_a_second() -> None:
    frames = np.arange(100.0)
    old, new = Plan(frames), Plan(frames + 12.5, grain_seed=1)
    heard = listen_along(_heard(old), _heard(new))
    assert heard is not None
    known = heard.weight > 0.5
    assert known.mean() > 0.5
    middles = (np.arange(100) + 0.5) / 24
    assert np.abs(heard.at_s[known] - (middles[known] + 12.5 / 24)).max() < 0.01


def test_another_voice_is_not_taken_for_the_same() -> None:
    frames = np.arange(100.0)
    assert listen_along(_heard(Plan(frames)), _heard(Plan(frames, sound=5))) is None


def test_takes_of_two_shots_are_refused_in_a_sentence() -> None:
    old, _ = make_pair("cut", seed=1).sides()
    _, new = make_pair("cut", seed=2).sides()
    with pytest.raises(InputError, match="is no take of the shot in"):
        line_up(old, replace(new, name="other.mp4"))


def test_sounds_alone_are_lined_up_by_ear() -> None:
    frames = np.arange(100.0)
    found = line_up(_heard(Plan(frames)), _heard(Plan(frames + 12, grain_seed=1)))
    assert np.median(found.old_of[:60] - np.arange(60)) == 12


def _heard(plan: Plan) -> Side:
    return Side(FrameClock.steady(Fraction(24), len(plan.u)), None, voice(plan))
