"""The eyes of a look, large in a corner of its still."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ElementTree

import numpy as np
import pytest

from shotcrit.checks.finding import Stroke
from shotcrit.deliver.still_inset import EDGE, SHAPE, SHARE, Ring, inset
from shotcrit.deliver.still_svg import WIDE, annotated

SVG = "{http://www.w3.org/2000/svg}"
HIGH = WIDE * 9 / 16


def ring(x: float, y: float, radius: float) -> tuple[tuple[float, float], ...]:
    turn = np.linspace(0, 2 * np.pi, 33)
    return tuple((x + radius * float(np.cos(t)), y + radius * 16 / 9 * float(np.sin(t))) for t in turn)


def look(radius: float = 0.01, y: float = 0.4) -> tuple[Stroke, ...]:
    rays = Stroke(1, "is", ((0.3, y), (0.7, y)), "12°"), Stroke(1, "should", ((0.3, y), (0.7, y + 0.1)))
    return *rays, Stroke(1, "patch", ring(0.28, y, radius), "7 px down"), Stroke(1, "patch", ring(0.34, y, radius), "8 px down")


def windows(strokes: tuple[Stroke, ...]) -> list[ElementTree.Element]:
    whole = ElementTree.fromstring(annotated("data:image/jpeg;base64,AAAA", 9 / 16, strokes, "a still", alone=True))
    return [e for e in whole.iter(f"{SVG}svg") if e is not whole]


def test_small_irises_are_shown_large_with_what_is_said_of_each() -> None:
    (window,) = windows(look())
    assert [t.text for t in window.iter(f"{SVG}text")] == ["7 px down", "8 px down"]
    (moved,) = [g.get("transform", "") for g in window.iter(f"{SVG}g")]
    assert float(re.findall(r"scale\(([\d.]+)\)", moved)[0]) > 2
    # Both rings lie inside of the window, side by side, equally far from its middle.
    shapes = [np.array(re.findall(r"-?[\d.]+", p.get("d", "")), float).reshape(-1, 2) for p in window.iter(f"{SVG}path")]
    wide, high = WIDE * SHARE, WIDE * SHARE * SHAPE
    for shape in shapes:
        assert (shape > 0).all()
        assert (shape < [wide, high]).all()
    left, right = shapes[0].mean(0), shapes[-1].mean(0)
    assert left[0] + right[0] == pytest.approx(wide, abs=3)
    assert left[1] == pytest.approx(high / 2, abs=3)


def test_large_regions_and_looks_without_irises_get_none() -> None:
    assert windows(look(radius=0.1)) == []
    assert windows(look()[:2]) == []
    assert windows((Stroke(1, "patch", ring(0.5, 0.5, 0.01), "still for 9 frames"),)) == []


@pytest.mark.parametrize(("spot", "corner"), [((0.1, 0.1), "right, low"), ((0.9, 0.9), "left, high"), ((0.4, 0.9), "right, high")])
def test_it_lies_in_the_corner_furthest_from_what_is_drawn(spot: tuple[float, float], corner: str) -> None:
    at = spot[0] * WIDE, spot[1] * HIGH
    spots = [(at[0] + a, at[1] + b) for a, b in ((0, 0), (5, 0), (5, 5))]
    window, _ = inset("data:,", [Ring(spots, "")], spots, (WIDE, HIGH))
    x, y = (float(v) for v in re.findall(r'^<svg x="([\d.]+)" y="([\d.]+)"', window)[0])
    assert ("left" if x == EDGE else "right") + ", " + ("high" if y == EDGE else "low") == corner
