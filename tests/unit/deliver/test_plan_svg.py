"""Looks from above and from the side: right places and angles, and drawings that hold together."""

from __future__ import annotations

import json
from xml.etree import ElementTree

import jsonschema
import numpy as np
import pytest
from tests.make.two_hander import Fault, at_level_2, two_hander

from shotcrit.checks.eyeline import check as eyeline
from shotcrit.checks.finding import Finding, Plan
from shotcrit.checks.measured import Measured
from shotcrit.checks.registry import limits_for
from shotcrit.deliver.findings_pdf import findings_pdf
from shotcrit.deliver.measure_json import measure_schema, measure_text
from shotcrit.deliver.page import measured_page
from shotcrit.deliver.plan_svg import HIGH, WIDE, plans_svg
from shotcrit.readings.bundle import Readings

LIMITS = limits_for(eyeline, {})


def found(readings: Readings) -> Finding:
    return next(f for f in eyeline.run(readings, LIMITS).findings if f.who == "Ada" and f.kind == "off_target")


def turn(plan: Plan, kind: str) -> float:
    (x0, y0), (x1, y1) = next(ray.points for ray in plan.rays if ray.kind == kind)
    return float(np.degrees(np.arctan2(y1 - y0, x1 - x0)))


@pytest.mark.parametrize("seed", range(800, 806))
def test_distances_and_directions_are_those_of_the_scene(seed: int) -> None:
    readings, _ = two_hander(seed, Fault(up=11))
    above, side = found(readings).plans
    places = [np.mean([g.world_origin[0] for g in actor.gaze.values()], axis=0) for actor in readings.acting]
    way = places[1] - places[0]
    ben = {plan.view: next(t for t in plan.things if t.name == "Ben") for plan in (above, side)}
    assert np.hypot(ben["above"].x, ben["above"].y) == pytest.approx(np.hypot(way[0], way[2]), abs=1e-3)
    assert ben["side"].y == pytest.approx(way[1], abs=1e-3)
    assert ben["side"].x == pytest.approx(np.hypot(way[0], way[2]), abs=1e-3)
    lens = next(t for t in above.things if t.kind == "lens")
    assert lens.y < 0
    assert lens.facing_deg == pytest.approx(90, abs=0.1)


def test_the_side_view_shows_the_height_and_the_view_from_above_the_side() -> None:
    """A level camera: then up on the picture is up in the world."""
    readings, _ = two_hander(1, Fault(up=10))
    above, side = found(readings).plans
    assert turn(side, "is") - turn(side, "should") == pytest.approx(10, abs=1.0)
    assert abs(turn(above, "is") - turn(above, "should")) < 2
    label = next(ray.label for ray in side.rays if ray.kind == "is")
    assert float(label.rstrip("°")) == pytest.approx(10, abs=1.0)


def test_everything_is_drawn_inside_the_paper() -> None:
    for seed in range(800, 812):
        readings, _ = two_hander(seed, Fault(right=14))
        drawing = ElementTree.fromstring(plans_svg(found(readings).plans, "x < y & z", alone=True))
        for text in (e for e in drawing.iter() if e.tag.endswith("text")):
            assert 0 <= float(text.get("x", "-1")) <= WIDE
            assert 0 <= float(text.get("y", "-1")) <= HIGH
        said = [e.text for e in drawing.iter() if e.tag.endswith("text")]
        assert {"from above", "from the side", "Ada", "Ben"} <= set(said)


def test_page_pdf_and_json_carry_the_plans() -> None:
    readings, _ = two_hander(1, Fault(up=10))
    measured = Measured(readings, (found(readings),), ())
    page = measured_page(measured, still=None)
    assert "from above" in page
    assert findings_pdf(measured).startswith(b"%PDF")
    document = json.loads(measure_text(measured))
    jsonschema.Draft202012Validator(measure_schema()).validate(document)
    assert [plan["view"] for plan in document["findings"][0]["plans"]] == ["above", "side"]


def test_where_the_picture_alone_tells_there_is_no_plan() -> None:
    readings = at_level_2(two_hander(1, Fault(up=12))[0], 1)
    assert found(readings).plans == ()
    assert plans_svg((), "", alone=True) == ""
