"""The demo film against its key, at level 3: every planted fault that a check looks for is found on its frames, and nothing clean is called must."""

from __future__ import annotations

import json
from dataclasses import replace
from importlib.resources import files
from pathlib import Path

import pytest

from shotcrit.checks.registry import all_checks
from shotcrit.desk.demo import FIRST_FRAME, STEM
from shotcrit.desk.measure import Bench, measure
from shotcrit.desk.request import request_from_files
from shotcrit.store.cache import open_cache

FILM = Path(str(files("shotcrit") / "demo_film"))
SAME = {"slip": {"before_cut", "slide"}}
"""The key's word for what a check may call otherwise."""
NEAR = 3
"""Frames that a finding's ends may lie off the planted ones: a cut or a breath is heard to the frame, a look settles within a few."""


@pytest.fixture(scope="module", params=["take1", "take2"])
def take(request, tmp_path_factory):
    """Findings and key of one take, measured with its scene and without marks."""
    stem = FILM / f"{STEM}_{request.param}"
    asked = request_from_files(
        Path(f"{stem}.mp4"),
        lines=Path(f"{stem}.lines.txt"),
        cast=Path(f"{stem}.cast.json"),
        scene=Path(f"{stem}.glb"),
        first_frame=FIRST_FRAME,
    )
    assert asked.cast is not None
    bare = asked.cast.model_copy(
        update={
            "characters": tuple(c.model_copy(update={"marks": {}}) for c in asked.cast.characters),
            "props": tuple(p.model_copy(update={"marks": {}}) for p in asked.cast.props),
        }
    )
    cache = open_cache(root=tmp_path_factory.mktemp("cache"))
    measured = measure(replace(asked, cast=bare), Bench(cache=cache, proxy=False))
    return measured.findings, json.loads(Path(f"{stem}.key.json").read_text(encoding="utf-8"))["planted"]


def meets(finding, planted) -> bool:
    kinds = SAME.get(planted["kind"], {planted["kind"]})
    first, last = planted["first"] - FIRST_FRAME, planted["last"] - FIRST_FRAME
    over = finding.span.start <= last + NEAR and finding.span.last >= first - NEAR
    return finding.check == planted["check"] and finding.kind in kinds and finding.who == planted["who"] and over


def test_what_was_planted_is_found_on_its_frames(take):
    findings, planted = take
    known = {check.ID for check in all_checks()}
    looked_for = [p for p in planted if p["check"] in known]
    assert looked_for
    for fault in looked_for:
        assert any(meets(f, fault) for f in findings), fault


def test_nothing_clean_is_called_must(take):
    findings, planted = take
    for finding in findings:
        if finding.weight == "must":
            assert any(meets(finding, fault) for fault in planted), finding.says
