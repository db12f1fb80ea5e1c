"""What is sent from the room: an animator gets what was taken, and no word of the rest."""

from __future__ import annotations

import io
import re
import subprocess
import zipfile
from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import pytest
from tests.make.measured import measured as lantern
from tests.make.open_rooms import KnownWorker
from tests.make.rooms import Guest, guest, until

from shotcrit.checks.finding import Finding, NotMeasured
from shotcrit.checks.measured import Measured
from shotcrit.clock import Span
from shotcrit.crit.records import Take
from shotcrit.crit.unreleased import LINE
from shotcrit.deliver.exchange.formats import FORMATS

NAMES = ("alder", "birch", "cedar", "dogwood", "elder", "fir")
"""Each finding speaks in words that no other has."""
TAKEN = 2


def _finding(number: int) -> Finding:
    name = NAMES[number]
    one = lantern().findings[0]
    return replace(
        one,
        kind="tail",
        span=Span(20 + 10 * number, 25 + 10 * number),
        value=71_130.0 + number,
        limit=93_170.0 + number,
        unit=f"{name}unit",
        says=f"The {name}says goes on too long.",
        suggest=f"Shorten the {name}suggest.",
        basis=f"guess: {name}basis",
        curves=(),
        strokes=(),
    )


def six() -> Measured:
    missing = NotMeasured("eyeline", "Bram", "gorseneeds, which was not given")
    return replace(lantern(), findings=tuple(_finding(n) for n in range(len(NAMES))), not_measured=(missing,))


@dataclass(frozen=True)
class SixFindings(KnownWorker):
    def remembered(self, take: Take, limits: Mapping[str, float]) -> Measured | None:
        return six()


def _ended(room: Guest, **order: Any) -> Any:
    job = room.post("/api/send", {"take": room.take, **order}, 202)
    return until(lambda: (j := room.get(f"/api/jobs/{job['id']}"))["state"] not in ("waiting", "running") and j)


def _sent(room: Guest, **order: Any) -> dict[str, bytes]:
    ended = _ended(room, **order)
    assert ended["state"] == "done", ended
    archive = zipfile.ZipFile(io.BytesIO(room.client.get(f"/api/jobs/{ended['id']}/files.zip").content))
    return {name: archive.read(name) for name in archive.namelist()}


def _text(name: str, data: bytes, folder: Path) -> str:
    """All that can be read in a file, by a reader and by whoever looks into it."""
    raw = data.decode("latin-1")
    if not name.endswith(".pdf"):
        return raw
    path = folder / "read.pdf"
    path.write_bytes(data)
    return raw + subprocess.run(["pdftotext", str(path), "-"], capture_output=True, check=True, text=True).stdout


def _unpacked(name: str, data: bytes) -> str:
    """What a file of another program holds, zips opened."""
    if not name.endswith(".npz"):
        return data.decode("latin-1")
    archive = zipfile.ZipFile(io.BytesIO(data))
    return "".join(archive.read(inner).decode("latin-1") for inner in archive.namelist())


@pytest.fixture(scope="module")
def sent(film: Path, tmp_path_factory: pytest.TempPathFactory) -> dict[str, dict[str, str]]:
    """One of six findings taken, one left with a reason, one reworded, a marker dropped; sent to the animator and to a colleague."""
    folder = tmp_path_factory.mktemp("sent")
    with guest(film, folder, worker=SixFindings(cache=folder / "cache")) as room:
        keys = [f["key"] for f in room.get("/api/takes/TAKE/findings")["findings"]]
        room.post(f"/api/takes/TAKE/findings/{keys[TAKEN]}/take", {})
        room.post(f"/api/takes/TAKE/findings/{keys[0]}/dismiss", {"reason": "hazelreason"}, 200)
        room.post(f"/api/takes/TAKE/findings/{keys[1]}/edit", {"rewording": {"says": "The ivyreworded drags."}}, 200)
        room.post("/api/takes/TAKE/markers", {"pressed": 30, "text": "junipermarker"})
        others = [d["kind"] for d in room.get("/api/deliveries") if d["reader"] == "program" and d["kind"] != "drawings"]
        animator, rest = _sent(room), _sent(room, kinds=["json", "crit", *others])
    colleague = {name: data for name, data in rest.items() if name.endswith((".crit", "-measure.json"))}
    return {
        "animator": {name: _text(name, data, folder) for name, data in animator.items()},
        "colleague": {name: data.decode("latin-1") for name, data in colleague.items()},
        "program": {name: _unpacked(name, data) for name, data in rest.items() if name not in colleague},
    }


def test_an_animator_gets_what_was_taken_and_no_word_of_the_rest(sent: dict[str, dict[str, str]]) -> None:
    files = sent["animator"]
    assert sorted(name.rsplit("-", 1)[1] for name in files) == ["crit.html", "crit.pdf", "sheet.pdf"]
    untaken = [f"{name}{part}" for n, name in enumerate(NAMES) if n != TAKEN for part in ("says", "suggest", "basis", "unit")]
    limits = [str(number + n) for number in (71_130, 93_170) for n in range(len(NAMES)) if n != TAKEN]
    for name, text in files.items():
        told = [word for word in (*untaken, "gorseneeds", "hazelreason", "ivyreworded", "junipermarker") if word in text]
        assert told == [], name
        readable = re.sub(r"[A-Za-z0-9+/=]{200,}", "", text) if name.endswith(".html") else text[text.rindex("%%EOF") :]
        assert [limit for limit in limits if re.search(rf"\b{limit}\b", readable)] == [], name
    for name in (name for name in files if "crit" in name.rsplit("-", 1)[1]):
        assert "cedarsays" in files[name], name
        assert "cedarsuggest" in files[name], name


def test_other_programs_get_what_was_taken_and_no_word_of_the_rest(sent: dict[str, dict[str, str]]) -> None:
    files = sent["program"]
    assert len(files) == len([form for form in FORMATS if form.kind != "drawings"]), "nothing is drawn here"
    told = "".join(files.values()).lower()
    untaken = [f"{name}{part}" for n, name in enumerate(NAMES) if n != TAKEN for part in ("says", "suggest", "basis", "unit")]
    assert [word for word in (*untaken, "gorseneeds", "hazelreason", "ivyreworded", "junipermarker") if word in told] == []
    for ending in (".otio", ".edl", ".csv", ".json", ".jsonld", ".vtt", ".TextGrid", ".png"):
        assert any("cedarsays" in text for name, text in files.items() if name.endswith(ending)), ending


def test_what_was_taken_stands_beside_its_rows_on_the_sheet(sent: dict[str, dict[str, str]]) -> None:
    (sheet,) = (text for name, text in sent["animator"].items() if name.endswith("sheet.pdf"))
    assert "cedarsays" in sheet
    assert "promised" in sheet, "what was read stays"


def test_every_page_and_pdf_carries_the_line_about_unreleased_pictures(sent: dict[str, dict[str, str]]) -> None:
    for name, text in sent["animator"].items():
        assert LINE in " ".join(text[-40_000:].split()) or LINE in text, name


def test_no_figure_of_notes_stands_beside_a_person(sent: dict[str, dict[str, str]]) -> None:
    for name, text in sent["animator"].items():
        assert not re.search(r"\b\d+ (must|polish|keep|notes?|findings?)\b", re.sub(r"<(style|script).*?</\1>", "", text, flags=re.S)), name


def test_colleagues_get_all_of_it_when_asked_for(sent: dict[str, dict[str, str]]) -> None:
    files = sent["colleague"]
    assert sorted(name.rsplit(".", 1)[1] for name in files) == ["crit", "json"]
    (measurement,) = (text for name, text in files.items() if name.endswith(".json"))
    assert all(f"{name}says" in measurement for name in NAMES)


def test_what_cannot_be_made_or_written_leaves_nothing_of_the_rest(film: Path, tmp_path: Path) -> None:
    """Nothing is drawn here, and where the cut list belongs lies a folder."""
    out = tmp_path / "out"
    in_the_way = out / "lantern_040-take1-cuts.edl"
    in_the_way.mkdir(parents=True)
    with guest(film, tmp_path, worker=SixFindings(cache=tmp_path / "cache")) as room:
        for kind, says in (("drawings", "leave drawings out"), ("edl", "cuts.edl cannot be written")):
            ended = _ended(room, kinds=["csv", kind], folder=str(out))
            assert (ended["state"], ended["files"]) == ("failed", [])
            assert says in ended["says"]
            assert list(out.iterdir()) == [in_the_way]


def test_the_ways_of_sending_say_whom_they_are_for(room: Guest) -> None:
    assert {d["kind"]: d["reader"] for d in room.get("/api/deliveries")} == {"list": "animator", "crit": "colleague"}


def test_the_line_is_the_reviewers_to_choose(room: Guest) -> None:
    assert room.get("/api/settings")["unreleased"] == LINE
    assert room.patch("/api/settings", {"unreleased": ""})["unreleased"] == ""
    assert room.patch("/api/settings", {"unreleased": None})["unreleased"] == LINE
