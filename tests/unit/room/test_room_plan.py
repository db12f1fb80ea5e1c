"""The drawing of a finding from above and from the side, where it has one."""

from __future__ import annotations

from dataclasses import replace

from tests.make.rooms import Guest
from tests.make.two_hander import Fault, two_hander

from shotcrit.checks.eyeline import check as eyeline
from shotcrit.checks.registry import limits_for


def test_a_plan_is_served_as_a_drawing_and_missing_ones_are_told(room: Guest) -> None:
    take = room.room.takes.get(room.take)
    measured = room.room.measurements.measured(take)
    assert measured is not None
    (planned,) = [f for f in eyeline.run(two_hander(1, Fault(up=10))[0], limits_for(eyeline, {})).findings if f.kind == "off_target"]
    room.room.measurements._measured[take.id] = (replace(measured, findings=(planned, *measured.findings)), room.room.settings.now().limits)
    tray = room.get("/api/takes/TAKE/findings")["findings"]
    with_plan = [f for f in tray if f["plan"]]
    assert [f["check"] for f in with_plan] == ["eyeline"]
    answer = room.client.get(f"/api/takes/{room.take}/findings/{with_plan[0]['key']}/plan.svg")
    assert answer.headers["content-type"].startswith("image/svg+xml")
    assert "from above" in answer.text
    without = next(f for f in tray if not f["plan"])
    assert "no plan" in room.get(f"/api/takes/TAKE/findings/{without['key']}/plan.svg", status=404)["says"]
