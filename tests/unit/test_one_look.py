"""Weights and evidence look alike in the room, on the page, in the PDFs and on the sheet: one colour each, from one table."""

from __future__ import annotations

import re
from pathlib import Path
from typing import get_args, get_type_hints

import pytest

from shotcrit.checks.finding import Stroke
from shotcrit.deliver.still_svg import annotated
from shotcrit.sheet.ink_look import LOOK
from shotcrit.sheet.marks import WEIGHTS
from shotcrit.sheet.palette import PENCILS

ROOT = Path(__file__).parents[2]
TEMPLATES = ROOT / "src" / "shotcrit" / "deliver" / "templates"
ROOM = ROOT / "web" / "src"


def _text(path: Path) -> str:
    return path.read_text(encoding="utf-8")


@pytest.mark.parametrize("weight", WEIGHTS)
def test_a_card_has_its_weights_colour_in_the_room_and_on_the_page(weight: str) -> None:
    colour = f"var(--{WEIGHTS[weight].colour})"
    in_the_room = re.search(rf"^\.card\.{weight} {{([^}}]*)}}", _text(ROOM / "look.css"), re.MULTILINE)
    assert in_the_room is not None
    assert colour in in_the_room[1]
    page = _text(TEMPLATES / "page.css")
    assert f".card.{weight} .weight {{ color: {colour} }}" in page
    assert re.search(rf"\.disc\.{weight} {{[^}}]*{re.escape(colour)}", page)


def test_paper_takes_the_same_colours() -> None:
    said = re.search(r"mark-colour\(weight\) = tone\((.+)\)", _text(TEMPLATES / "house.typ"))
    assert said is not None
    named = dict(re.findall(r'weight == "(\w+)" {{ "(\w+)" }}'.replace("{{", "{").replace("}}", "}"), said[1]))
    assert named == {weight: look.colour for weight, look in WEIGHTS.items() if weight != "polish"}
    assert said[1].rstrip().endswith(f'else {{ "{WEIGHTS["polish"].colour}" }}')


def test_no_part_of_the_room_gives_a_card_colours_of_its_own() -> None:
    own = [p.name for p in ROOM.rglob("*.svelte") if re.search(r"\.(?:must|polish|keep)\b[^{]*{[^}]*--(?:red|ochre|green|blue)", _text(p))]
    assert own == []


def test_every_kind_of_evidence_has_one_look() -> None:
    assert set(get_args(get_type_hints(Stroke)["kind"])) == set(LOOK.evidence)
    assert {look.pencil for look in LOOK.evidence.values()} <= set(PENCILS)


@pytest.mark.parametrize("kind", LOOK.evidence)
def test_evidence_on_the_page_has_that_look(kind: str) -> None:
    look = LOOK.evidence[kind]
    drawn = annotated("data:,", 0.5, [Stroke(0, kind, ((0.1, 0.1), (0.6, 0.6)))], "a still", alone=True)  # type: ignore[arg-type]
    assert f'stroke="{PENCILS[look.pencil]}"' in drawn
    assert f"<title>{look.says}</title>" in drawn
    assert ("stroke-dasharray" in drawn) == bool(look.dash)


def test_the_room_draws_evidence_from_the_same_table() -> None:
    assert "INK.evidence" in _text(ROOM / "ink" / "look.ts")
    painter = _text(ROOM / "paint" / "overlay.ts").partition("export function paintEvidence")[2].partition("\nfunction")[0]
    assert "EVIDENCE[stroke.kind]" in painter
    assert not re.search(r"PENCILS\.\w+", painter)
