"""NOTICES.md: whose work a wheel of ours carries and requires, and under which licence.

python build_steps/notices.py        writes it, from what is installed here
"""

from __future__ import annotations

import re
import sys
from collections.abc import Iterator
from importlib.metadata import PackageNotFoundError, distribution
from pathlib import Path

from packaging.requirements import Requirement

sys.path.insert(0, str(Path(__file__).parent))
from lent import HOME, LENT

ROOT = Path(__file__).resolve().parents[1]
PAGE = ROOT / "NOTICES.md"
BUNDLED = ROOT / "src" / "shotcrit" / "room" / "static" / "licenses.md"
FONTS = ROOT / "src" / "shotcrit" / "sheet" / "fonts" / "OFL.txt"
EXTRAS = ("scene", "parquet")
HEAD = """# Notices

Shotcrit itself is licensed under the Apache License 2.0 (LICENSE). This file names the work of others: what a wheel of Shotcrit carries inside, with
the licences in full at the end, and what it requires, which is installed beside it from packages that bring their own licences.

Two of these packages carry more than their own work: the wheels of `av` hold FFmpeg with libraries under the GNU General Public License (x264 and
x265 among them), those of `opencv-python-headless` hold FFmpeg under the GNU Lesser General Public License. Shotcrit carries neither.
"""
ODD = {
    "MIT License": "MIT", "The MIT License (MIT)": "MIT", "Apache Software License": "Apache-2.0", "Apache 2.0 License": "Apache-2.0",
    "Apache 2.0": "Apache-2.0",
    "BSD License": "BSD", "Python Software Foundation License": "PSF-2.0", "Mozilla Public License 2.0 (MPL 2.0)": "MPL-2.0",
    "LicenseRef-TOST-1.0": "Tomorrow Open Source Technology License 1.0",
}  # fmt: skip
"""Licences as packages write them, and as they are called here."""


def required(extra: str | None = None) -> dict[str, str]:
    """Every package that ours requires, those that these require among them, with its licence. extra : what that extra adds to it"""
    found: dict[str, str] = {}
    waiting = [("shotcrit", frozenset({extra or ""}))]
    while waiting:
        name, extras = waiting.pop()
        for text in _requires(name):
            wanted = Requirement(text)
            if (
                any(wanted.marker is None or wanted.marker.evaluate({"extra": e}) for e in extras | {""})
                and _plain(wanted.name) not in found
            ):
                found[_plain(wanted.name)] = licence_of(wanted.name)
                waiting.append((wanted.name, frozenset(wanted.extras)))
    plain = {} if extra is None else required()
    return {name: licence for name, licence in sorted(found.items()) if name not in plain}


def _requires(name: str) -> list[str]:
    try:
        return distribution(name).requires or []
    except PackageNotFoundError:
        return []


def _plain(name: str) -> str:
    return re.sub(r"[-_.]+", "-", name).lower()


def licence_of(name: str) -> str:
    """As the package says: by expression, else by class, else in words."""
    said = distribution(name).metadata
    classes = [c.rpartition(" :: ")[2] for c in said.get_all("Classifier", []) if c.startswith("License :: OSI Approved :: ")]
    words = said.get("License-Expression") or next(iter(classes), "") or (said.get("License") or "").partition("\n")[0]
    return ODD.get(words, words) or "not said"


def page_packages() -> dict[str, tuple[str, str]]:
    """Whose work is in the room's page: name -> licence and its text, as the page's build wrote down what it bundled. Raises SystemExit without a page."""
    if not BUNDLED.is_file():
        raise SystemExit(f"{BUNDLED} is not there; build the page first, with make setup")
    parts = re.split(r"^## (.+) - \S+ \((.+)\)$", BUNDLED.read_text(encoding="utf-8"), flags=re.MULTILINE)[1:]
    return {name: (licence, text.strip()) for name, licence, text in zip(parts[0::3], parts[1::3], parts[2::3], strict=True)}


def notices() -> str:
    """The whole file."""
    return "\n".join([HEAD, *_carried(), *_beside(), *_texts()]) + "\n"


def _carried() -> Iterator[str]:
    yield "## Inside the wheel\n\n| what | from | licence |\n| --- | --- | --- |"
    yield "| type of the sheet, the page and the room | IBM Plex Sans, IBM Plex Sans Condensed | OFL-1.1 |"
    for row in LENT:
        yield f"| {row.what} | {row.package} {row.version} | {row.spdx} |"
    for name, (licence, _) in page_packages().items():
        yield f"| a part of the room's page | {name} | {licence} |"
    yield "| the demo film | our own, spoken by festival with its voices kallpc16k and us-slt-hts | Apache-2.0 |\n"


def _beside() -> Iterator[str]:
    for title, packages in (("Required", required()), *((f"Required by `shotcrit[{extra}]` besides", required(extra)) for extra in EXTRAS)):
        yield f"## {title}\n\n| package | licence |\n| --- | --- |"
        yield from (f"| {name} | {licence} |" for name, licence in packages.items())
        yield ""


def _texts() -> Iterator[str]:
    yield "## Licences of what is inside\n"
    texts = {"IBM Plex": FONTS.read_text(encoding="utf-8")}
    texts |= {f"{row.package} {row.version}": (HOME / row.folder / row.licence[1]).read_text(encoding="utf-8") for row in LENT}
    texts |= {name: text for name, (_, text) in page_packages().items() if text}
    for name, text in texts.items():
        plain = "\n".join(line.rstrip() for line in text.strip().splitlines())
        yield f"### {name}\n\n```text\n{plain}\n```\n"


if __name__ == "__main__":
    PAGE.write_text(notices(), encoding="utf-8")
