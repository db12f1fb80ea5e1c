"""The sheet as PDF: read back with poppler's pdftotext and counted."""

from __future__ import annotations

import re
import subprocess
from collections import Counter
from fractions import Fraction
from itertools import pairwise
from pathlib import Path

import cv2
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.make.installed import needed
from tests.make.measured import FIRST_FRAME, FRAMES, Names, bare, measured, sound_only

from shotcrit.checks.measured import Measured
from shotcrit.deliver.findings_pdf import findings_pdf, write_findings_pdf
from shotcrit.deliver.sheet_pdf import PAPERS, jpeg_shape, plan_pages, sheet_pdf, write_sheet_pdf
from shotcrit.errors import InputError
from shotcrit.sheet.build import build_sheet
from shotcrit.sheet.lanes.seen import wanted_opening
from shotcrit.sheet.layout import columns, kept, least_width

HOSTILE = Names(shot="#panic() ]$ \\ <x>", one='灯 "*_`#b', other="</svg><script>", says="$ #set page(fill: red) ] [ \x00 \u202e")


def still(index: int, width: int) -> bytes:
    picture = np.full((width * 9 // 16, width, 3), 40 + index % 100, np.uint8)
    return bytes(cv2.imencode(".jpg", picture)[1])


def text_of(pdf: bytes, folder: Path) -> str:
    tool = needed("pdftotext")
    path = folder / "read.pdf"
    path.write_bytes(pdf)
    return subprocess.run([tool, "-layout", str(path), "-"], capture_output=True, check=True, text=True).stdout


@pytest.mark.parametrize("paper", list(PAPERS))
def test_every_frame_word_phone_and_finding_is_there_once(paper: str, tmp_path: Path) -> None:
    text = text_of(sheet_pdf(measured(), still=still, paper=paper), tmp_path)  # type: ignore[arg-type]
    rows = re.sub(r"^.*(frames a second|\d to \d).*$", "", text, flags=re.M)
    numbers = Counter(re.findall(r"\b1\d{3}\b", rows))
    assert {n: numbers[str(n)] for n in range(FIRST_FRAME, FIRST_FRAME + FRAMES)} == dict.fromkeys(
        range(FIRST_FRAME, FIRST_FRAME + FRAMES), 1
    )
    for word in ("But", "you", "promised", "lighthouse", "went"):
        assert len(re.findall(rf"\b{word}\b", text)) == 1, word
    for phone in ("UW", "ER", "EH", "P"):
        assert len(re.findall(rf"\b{phone}\b", text)) == 1, phone
    for kind in ("closure:", "missing:", "tail:", "slide:"):
        assert text.count(kind) == 1, kind


def test_seven_dead_frames_are_seven_counted_rows(tmp_path: Path) -> None:
    text = text_of(sheet_pdf(measured(level=0)), tmp_path)
    counted = re.findall(r"\b(12(?:5[89]|6[0-4])) +(\d)\b", text)
    assert [(int(frame), int(count)) for frame, count in sorted(counted)] == [(1258 + i, i + 1) for i in range(7)]


def test_a_short_dialogue_shot_is_one_page_of_a3(tmp_path: Path) -> None:
    assert "1/1" in text_of(sheet_pdf(measured(level=1)), tmp_path).replace(" ", "")


@pytest.mark.parametrize(("frames", "blocks"), [(1, 1), (103, 1), (107, 1), (108, 2), (192, 2), (193, 3)])
def test_a_short_shot_is_not_broken_for_a_few_frames(frames: int, blocks: int) -> None:
    sheet = build_sheet(measured(level=0, frames=frames))
    plan = plan_pages(sheet, "a3")
    assert -(-sheet.frames // plan.rows) == blocks


def test_the_same_measurement_gives_the_same_file() -> None:
    assert sheet_pdf(measured(), still=still) == sheet_pdf(measured(), still=still)


def test_columns_with_nothing_in_them_fold_away() -> None:
    kinds = [kind for kind, _ in kept(build_sheet(measured(level=0)))]
    assert kinds == ["frame", "picture", "sound", "air", "found", "notes"]
    assert [k for k, _ in kept(build_sheet(bare()))] == ["frame", "picture", "notes"]
    assert [k for k, _ in kept(build_sheet(sound_only()))] == ["frame", "sound", "words", "phones", "air", "mouth", "notes"]
    assert [k for k, _ in kept(build_sheet(measured()))].count("mouth") == 2


def test_each_mouth_is_asked_for_what_its_own_phones_ask() -> None:
    """'promised' of Oona: shut on its m (1.11 to 1.18 s is P, the m follows AA), open on its AA; Bram says nothing there."""
    what = measured()
    sound = what.readings.sound
    assert sound is not None
    at = {name: next(p for p in sound.phones if p.phone == name and p.word == 2) for name in ("AA", "M")}
    rows = {name: round((p.start_s + p.end_s) / 2 * 24) for name, p in at.items()}
    oona, bram = wanted_opening(what.readings, "Oona"), wanted_opening(what.readings, "Bram")
    assert oona[rows["AA"]] > 2 * oona[rows["M"]]
    assert np.isnan(bram[rows["AA"]])
    assert np.isnan(oona[0])
    assert np.nanmax(wanted_opening(what.readings, None)) >= np.nanmax(oona)


@pytest.mark.parametrize("width", [200.0, 380.0, 900.0])
def test_columns_fill_the_width_and_never_overlap(width: float) -> None:
    sheet = build_sheet(measured())
    laid = columns(sheet, width)
    assert laid[-1].x + laid[-1].width == pytest.approx(width)
    assert all(b.x == pytest.approx(a.x + a.width) for a, b in pairwise(laid))
    if width >= least_width(sheet):
        assert min(c.width for c in laid) >= 16


@pytest.mark.parametrize(
    "rate", [Fraction(24), Fraction(24000, 1001), Fraction(25), Fraction(30), Fraction(60), Fraction(1000), Fraction(1, 2)]
)
def test_blocks_hold_whole_seconds_where_a_second_fits(rate: Fraction) -> None:
    sheet = build_sheet(measured(level=0, frames=500, rate=rate))
    for paper in PAPERS:
        plan = plan_pages(sheet, paper)
        second = max(1, round(rate))
        assert plan.rows % second == 0 or plan.rows < second or plan.rows == sheet.frames
        assert plan.row > 2


@pytest.mark.parametrize("what", [measured(names=HOSTILE), bare(), sound_only()], ids=["hostile", "bare", "sound"])
def test_anything_can_be_set(what: Measured, tmp_path: Path) -> None:
    assert sheet_pdf(what, still=still, paper="a4").startswith(b"%PDF")
    assert findings_pdf(what, still=still).startswith(b"%PDF")


def test_hostile_words_are_printed_and_not_obeyed(tmp_path: Path) -> None:
    text = text_of(findings_pdf(measured(names=HOSTILE), still=still), tmp_path)
    assert "#panic() ]$ \\ <x>" in text
    assert "$ #set page(fill: red) ] [" in text


@settings(max_examples=12)
@given(st.text(min_size=1, max_size=30), st.text(max_size=30))
def test_no_name_breaks_the_setting(name: str, says: str) -> None:
    what = measured(names=Names(shot=name, one=name, other="b" + name, says=says))
    assert sheet_pdf(what, paper="a4").startswith(b"%PDF")
    assert findings_pdf(what).startswith(b"%PDF")


def test_findings_are_printed_once_with_value_and_basis(tmp_path: Path) -> None:
    text = text_of(findings_pdf(measured(), still=still), tmp_path)
    for said in ("5 findings: 4 must, 1 polish", "31 % open", "14.2° too high", "3.1 px over 2 frames", "needs a scene", "98 % sure"):
        assert said in text
    assert len(re.findall(r"contact, slide", text)) == 1


def test_unknown_paper_is_refused() -> None:
    with pytest.raises(InputError, match="'b7' is no paper"):
        sheet_pdf(measured(), paper="b7")  # type: ignore[arg-type]


def test_a_still_that_is_no_jpeg_is_refused_and_the_old_file_stays(tmp_path: Path) -> None:
    path = tmp_path / "sheet.pdf"
    write_sheet_pdf(measured(), path)
    before = path.read_bytes()
    with pytest.raises(InputError, match="no JPEG"):
        write_sheet_pdf(measured(), path, still=lambda index, width: b"GIF89a")
    with pytest.raises(InputError, match="no JPEG"):
        write_findings_pdf(measured(), path, still=lambda index, width: b"\xff\xd8\xff")
    assert path.read_bytes() == before
    assert list(tmp_path.iterdir()) == [path]


def test_jpeg_shape_is_height_over_width() -> None:
    assert jpeg_shape(still(0, 160)) == 90 / 160
    assert jpeg_shape(bytes(cv2.imencode(".jpg", np.zeros((50, 20, 3), np.uint8), [cv2.IMWRITE_JPEG_PROGRESSIVE, 1])[1])) == 2.5
