"""The docs say what the code does: reference pages are current, every limit has a basis, links lead somewhere."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest

from shotcrit.checks.about import COLUMNS
from shotcrit.checks.registry import all_checks
from shotcrit.cli.reference import PAGES
from shotcrit.readings.cast import Cast, Character, Contact, LookAt, Placed, Point, Prop, SceneCamera, parse_cast

ROOT = Path(__file__).parents[2]
DOCS = ROOT / "docs"


@pytest.mark.parametrize("name", PAGES)
def test_reference_pages_are_current(name):
    assert (DOCS / "reference" / name).read_text(encoding="utf-8") == PAGES[name](), "run: make docs"


def test_the_cast_page_speaks_of_every_field_and_its_example_is_a_sound_cast():
    page = (DOCS / "reference" / "cast.md").read_text(encoding="utf-8")
    for part in (Cast, Character, Prop, Placed, Contact, LookAt, SceneCamera, Point):
        for name in part.model_fields:
            assert f"| `{name}` |" in page, f"{part.__name__}.{name}"
    example = re.search(r"```json\n(.+?)```", page, re.DOTALL)
    assert example is not None
    cast = parse_cast(json.loads(example[1]), name="the page")
    assert {part.name for part in cast.marked} == {"Ada", "Ben", "kite"}


def test_every_limit_names_its_basis_and_unit():
    for check in all_checks():
        assert check.TITLE
        assert check.HELP
        for limit in check.LIMITS:
            assert limit.basis.strip(), f"{check.ID}.{limit.name}"
            assert limit.unit.strip(), f"{check.ID}.{limit.name}"
            assert limit.help.strip(), f"{check.ID}.{limit.name}"


def _pages() -> list[Path]:
    return [ROOT / "README.md", ROOT / "DEVELOPERS.md", *DOCS.rglob("*.md")]


@pytest.mark.parametrize("page", _pages(), ids=lambda p: str(p.relative_to(ROOT)))
def test_links_lead_somewhere(page):
    text = page.read_text(encoding="utf-8")
    for target in re.findall(r"\]\(([^)#\s]+)", text):
        if not target.startswith(("http", "mailto:")):
            assert (page.parent / target).exists(), f"{page.name} links to {target}"


def test_how_to_write_a_check_shows_the_example_as_it_is():
    example = "".join(
        path.read_text(encoding="utf-8") for path in (ROOT / "examples" / "blink_rate").rglob("*") if path.suffix in (".py", ".toml")
    )
    blocks = re.findall(r"```(?:python|toml)\n(.+?)```", (DOCS / "do" / "write-a-check.md").read_text(encoding="utf-8"), re.DOTALL)
    assert len(blocks) >= 6
    for block in blocks:
        assert block in example, block


def test_how_to_write_a_check_speaks_of_all_that_a_check_may_say():
    page = (DOCS / "do" / "write-a-check.md").read_text(encoding="utf-8")
    for name in ("ID", "TITLE", "HELP", "LIMITS", "run", "NAME", "KINDS", "COLUMN", "NEEDS", "VERSION"):
        assert f"| `{name}` |" in page, name
    for column in COLUMNS:
        assert column in page
