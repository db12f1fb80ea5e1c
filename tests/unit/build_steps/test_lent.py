"""Files that other packages lend: taken by hash or not at all, and taken again when what is pinned changes."""

from __future__ import annotations

import hashlib
import subprocess
import zipfile
from dataclasses import replace
from pathlib import Path

import pytest
from build_steps import lent

from shotcrit.errors import MissingExtra
from shotcrit.lent import lent_file


@pytest.fixture
def row(tmp_path: Path) -> tuple[lent.Lent, Path]:
    """A package that lends a kite, and its wheel."""
    wheel = tmp_path / "kites-1.0-py3-none-any.whl"
    with zipfile.ZipFile(wheel, "w") as box:
        box.writestr("kites/kite.npz", b"a kite")
        box.writestr("kites/reel.npz", b"nobody asked for it")
        box.writestr("kites-1.0.dist-info/LICENSE", b"fly it as you like")
    digest = hashlib.sha256(wheel.read_bytes()).hexdigest()
    return lent.Lent(
        "big-kites", "1.0", digest, {"kites/kite.npz": "kite.npz"}, ("kites-1.0.dist-info/LICENSE", "LICENSE"), "a kite", "MIT"
    ), wheel


def test_only_what_is_asked_for_is_taken_with_its_licence(row, tmp_path, monkeypatch):
    asked, wheel = row
    monkeypatch.setattr(lent, "LENT", (asked,))
    home = tmp_path / "lent_files"
    assert lent.missing(home) == [asked]
    lent.unpack(wheel, asked, home)
    assert {path.name for path in (home / "big_kites").iterdir()} == {"kite.npz", "LICENSE", "taken"}
    assert (home / "big_kites" / "kite.npz").read_bytes() == b"a kite"
    assert lent.missing(home) == []


def test_another_version_or_a_lost_file_is_taken_again(row, tmp_path, monkeypatch):
    asked, wheel = row
    home = tmp_path / "lent_files"
    lent.unpack(wheel, asked, home)
    newer = replace(asked, sha256="0" * 64)
    monkeypatch.setattr(lent, "LENT", (newer,))
    assert lent.missing(home) == [newer]
    monkeypatch.setattr(lent, "LENT", (asked,))
    (home / "big_kites" / "LICENSE").unlink()
    assert lent.missing(home) == [asked]


def test_a_wheel_that_is_another_gives_nothing(row, tmp_path):
    asked, wheel = row
    wheel.write_bytes(wheel.read_bytes() + b"!")
    with pytest.raises(SystemExit, match=r"is not the big-kites 1\.0 that is pinned"):
        lent.unpack(wheel, asked, tmp_path / "lent_files")
    assert not (tmp_path / "lent_files").exists()


def test_what_cannot_be_had_ends_the_setting_up_unless_all_else_works_without_it(row, tmp_path, monkeypatch, capsys):
    asked, _ = row
    home = tmp_path / "lent_files"

    def unreachable(wanted: lent.Lent, folder: Path) -> Path:
        raise SystemExit(f"{wanted.package} cannot be fetched; try again with a network.")

    monkeypatch.setattr(lent, "LENT", (asked,))
    monkeypatch.setattr(lent, "_download", unreachable)
    with pytest.raises(SystemExit, match="big-kites cannot be fetched"):
        lent.bring(home)
    optional = replace(asked, optional=True)
    monkeypatch.setattr(lent, "LENT", (optional,))
    lent.bring(home)
    assert capsys.readouterr().err == "big-kites cannot be fetched; try again with a network. Everything else works without it.\n"
    assert lent.missing(home) == [optional]


def test_a_wheel_that_a_package_has_for_each_system_is_asked_for_by_its_system(row, tmp_path, monkeypatch):
    asked, wheel = row
    commands: list[list[str]] = []

    def pip(command: list[str], **_: object) -> subprocess.CompletedProcess[str]:
        commands.append(command)
        (tmp_path / wheel.name).write_bytes(wheel.read_bytes())
        return subprocess.CompletedProcess(command, 0, "", "")

    monkeypatch.setattr(subprocess, "run", pip)
    monkeypatch.setattr(lent, "LENT", (replace(asked, made_for=("manylinux_2_17_x86_64", "3.11")),))
    assert lent._download(lent.LENT[0], tmp_path) == tmp_path / wheel.name
    assert commands[0][commands[0].index("--platform") + 1] == "manylinux_2_17_x86_64"
    assert commands[0][commands[0].index("--python-version") + 1] == "3.11"


def test_what_our_code_reads_is_there():
    assert not [row for row in lent.missing() if not row.optional]
    for asked in (row for row in lent.LENT if row not in lent.missing()):
        for name in (*asked.files.values(), asked.licence[1]):
            assert lent_file(asked.package, name).stat().st_size > 0
    with pytest.raises(MissingExtra, match="make setup"):
        lent_file("g2p-en", "nothing.npz")
