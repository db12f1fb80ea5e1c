"""NOTICES.md names everything that a wheel of ours carries or requires, and our licence keeps out what the GPL would reach."""

from __future__ import annotations

import json
import re

import pytest
from build_steps import notices
from build_steps.lent import LENT

PAGE = notices.PAGE.read_text(encoding="utf-8")
ROOT = notices.ROOT
LISTED = dict(re.findall(r"^\| ([a-z0-9][a-z0-9-]*) \| ([^|]+) \|$", PAGE, re.MULTILINE))


def test_every_package_that_is_required_is_named_with_its_licence():
    wanted = notices.required()
    for extra in notices.EXTRAS:
        wanted |= notices.required(extra)
    assert len(wanted) > 30
    assert {name: LISTED.get(name) for name in wanted} == wanted, "run: make notices"


def test_nothing_is_named_that_is_no_longer_locked():
    locked = set(re.findall(r"^([a-z0-9-]+)==", (ROOT / "requirements.lock").read_text(encoding="utf-8"), re.MULTILINE))
    assert set(LISTED) - {"package"} <= locked, "run: make notices"


def test_no_package_that_is_required_is_under_the_gpl():
    for name, licence in LISTED.items():
        assert not re.search(r"\b(A?GPL|GNU)", licence), f"{name}: {licence}"


def test_everything_inside_the_wheel_is_named_with_its_licence_in_full():
    for row in LENT:
        assert f"{row.package} {row.version} | {row.spdx}" in PAGE
    web = json.loads((ROOT / "web" / "package.json").read_text(encoding="utf-8"))
    for name in web["dependencies"]:
        assert f"| {name} | " in PAGE
        assert f"### {name}" in PAGE
    assert "SIL OPEN FONT LICENSE" in PAGE
    fonts = {path.stem.partition("-")[0] for path in (ROOT / "src/shotcrit/sheet/fonts").glob("*.ttf")}
    assert fonts == {"IBMPlexSans", "IBMPlexSansCondensed"}, "name the new type in build_steps/notices.py"


@pytest.mark.skipif(not notices.BUNDLED.is_file(), reason="the page is not built here")
def test_what_the_pages_build_bundled_is_named():
    for name, (licence, _) in notices.page_packages().items():
        assert f"| {name} | {licence} |" in PAGE, "run: make notices"
