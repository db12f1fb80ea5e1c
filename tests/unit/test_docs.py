"""The docs say what the code does: reference pages are current, every limit has a basis, links lead somewhere."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from shotcrit.checks.registry import all_checks
from shotcrit.cli.reference import PAGES

ROOT = Path(__file__).parents[2]
DOCS = ROOT / "docs"


@pytest.mark.parametrize("name", PAGES)
def test_reference_pages_are_current(name):
    assert (DOCS / "reference" / name).read_text(encoding="utf-8") == PAGES[name](), "run: make docs"


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
