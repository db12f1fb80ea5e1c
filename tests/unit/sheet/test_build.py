"""The sheet's one model: what is laid in which lane."""

from __future__ import annotations

from dataclasses import replace
from typing import get_args

import numpy as np
import pytest
from tests.make.measured import CUTS, DEAD_TAIL, FRAMES, bare, measured, sound_only

from shotcrit.checks.measured import Measured
from shotcrit.clock import Span
from shotcrit.readings.acting import Acting
from shotcrit.readings.seen import Cadence, Fade
from shotcrit.sheet.build import build_sheet
from shotcrit.sheet.lanes.beside import evidence
from shotcrit.sheet.marks import COLUMNS, CURVES, STRETCHES
from shotcrit.sheet.model import KINDS, SERIES, ColumnKey, Lane


def on_twos(what: Measured) -> Measured:
    """Every second frame repeats the one before as its rhythm; the last seven are held."""
    picture = what.readings.picture
    assert picture is not None
    rhythm = np.arange(FRAMES) % 2 == 1
    rhythm[-DEAD_TAIL:] = False
    cadence = Cadence("held", "on twos", 2, 1, None, 1.0, rhythm)
    return replace(what, readings=replace(what.readings, picture=replace(picture, repeats=picture.repeats | rhythm, cadence=cadence)))


def test_a_film_on_twos_has_no_dead_frames_but_its_holds() -> None:
    lane = build_sheet(on_twos(measured(level=0))).of("picture")[0]
    assert [(s.start, s.stop, s.kind, s.count) for s in lane.stretches if s.kind.startswith("dead")] == [
        (FRAMES - DEAD_TAIL, FRAMES, "dead_told", 1)
    ]


def test_dead_frames_are_red_only_where_a_finding_speaks_of_them() -> None:
    what = measured(level=0)
    hold = what.findings[-1]
    part = replace(hold, span=replace(hold.span, start=hold.span.start + 3))
    kinds = {n: [(s.kind, s.count) for s in build_sheet(replace(what, findings=f)).stretches("picture", "dead", "dead_told")] for n, f in
             (("none", ()), ("part", (part,)))}  # fmt: skip
    assert kinds == {"none": [("dead", 1)], "part": [("dead", 1), ("dead_told", 4)]}


def test_everything_that_was_measured_lies_in_its_lane() -> None:
    sheet = build_sheet(measured())
    assert [(lane.column, lane.who) for lane in sheet.lanes] == [
        ("picture", None), ("sound", None), ("words", None), ("phones", None), ("air", None),
        ("mouth", "Oona"), ("mouth", "Bram"), ("eyes", "Oona"), ("eyes", "Bram"), ("body", "Oona"), ("body", "Bram"),
    ]  # fmt: skip
    assert sheet.cuts == CUTS
    assert [s.text for s in sheet.stretches("picture", "cut")] == ["cut, shot 2", "cut, shot 3"]
    words = list(sheet.stretches("words"))
    assert [w.text for w in words if w.leads] == ["But", "the", "The"]
    assert [w.text for w in words if not w.sure] == ["me ?"]
    assert {w.kind for w in words if w.who == "Bram"} == {"word_other"}
    assert [s.text for s in sheet.stretches("air")] == ["in", "in", "smack", "out", "shakes 6.4 Hz"]
    assert np.abs(sheet.wave).max() == pytest.approx(1)


def test_lanes_with_nothing_in_them_are_not_there() -> None:
    assert [lane.column for lane in build_sheet(bare()).lanes] == ["picture"]
    assert [lane.column for lane in build_sheet(sound_only()).lanes] == ["sound", "words", "phones", "air", "mouth"]


def test_every_curve_keeps_to_its_lane() -> None:
    for lane in build_sheet(measured()).lanes:
        for curve in lane.curves:
            known = curve.values[np.isfinite(curve.values)]
            low = -1 if curve.id == "sound.wave" else 0
            assert low <= known.min() <= known.max() <= 1, curve.id


def test_a_chests_lift_is_held_against_its_own_shot() -> None:
    """A cut moves the chest by a third of the picture; the lift of each shot swings about the lane's middle all the same."""
    what = measured()
    actor: Acting = what.readings.acting[0]
    chest = actor.marks["chest"]
    xy = chest.xy.copy()
    xy[CUTS[0] :, 1] -= 0.3
    moved = replace(actor, marks={**actor.marks, "chest": replace(chest, xy=xy)})
    lift = build_sheet(replace(what, readings=replace(what.readings, acting=(moved,)))).of("body")[0].curves[0].values
    for shot in (lift[: CUTS[0]], lift[CUTS[0] : CUTS[1]], lift[CUTS[1] :]):
        assert np.median(shot) == pytest.approx(0.5, abs=1e-3)


def test_evidence_lies_on_one_scale_that_holds_nought() -> None:
    closure = next(f for f in measured().findings if f.kind == "closure")
    wanted, seen = evidence(closure.curves[0])
    assert (wanted.id, seen.id, wanted.first) == ("evidence.wanted", "evidence.seen", 36)
    assert seen.values[:3] == pytest.approx([0.1 / 0.6, 0.32 / 0.6, 0.5 / 0.6])
    assert wanted.values[3] == 0
    assert np.isnan(seen.values[6])


def test_every_name_has_a_look_and_every_look_a_name() -> None:
    assert set(STRETCHES) == set(KINDS)
    assert set(CURVES) == set(SERIES)
    keys = [key for part in get_args(ColumnKey) for key in (get_args(part) or (part,))]
    assert set(COLUMNS) == set(keys)
    assert not Lane("picture")


def test_where_nobody_acts_is_drawn_and_its_stillness_not_counted() -> None:
    what = measured()
    assert what.readings.picture is not None
    black, out = Span(FRAMES - DEAD_TAIL, FRAMES), Fade(Span(FRAMES - 20, FRAMES - DEAD_TAIL), "out")
    picture = replace(what.readings.picture, black=(black,), fades=(out,), cards=(Span(0, 9),))
    stretches = build_sheet(replace(what, readings=replace(what.readings, picture=picture))).of("picture")[0].stretches
    drawn = {(s.kind, s.start, s.stop) for s in stretches}
    assert {("black", black.start, black.stop), ("fade_out", out.span.start, out.span.stop), ("card", 0, 9)} <= drawn
    assert not [s for s in stretches if s.kind in ("dead", "dead_told")]
