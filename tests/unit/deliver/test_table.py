"""The table for people says everything once, in plain words."""

from __future__ import annotations

from hypothesis import given, settings
from hypothesis import strategies as st
from tests.make.measured import Names, bare, measured, sound_only

from shotcrit.deliver.table import measure_table_text


def test_it_tells_the_shot_the_sound_the_findings_and_what_is_missing() -> None:
    text = measure_table_text(measured())
    for said in (
        "Lantern 040.mov",
        "264 frames, 1001 to 1264; 24 frames a second",
        "3 of 4 heard; 10 words, 36 phones",
        "Bram: Wait for the tide",
        "2 breaths in, 1 breath out, 1 smack",
        "2 cuts, new shot at 1097, 1169",
        "5 findings: 4 must, 1 polish",
        "1258 to 1264",
        "14.2° too high",
        "limit 1.5 % of head height; common practice, no source; 86 %",
        "needs lid marks on one frame where the eyes are shut",
    ):
        assert said in text, said


def test_findings_stand_in_order_and_once() -> None:
    text = measure_table_text(measured())
    places = [text.index(frames) for frames in ("1040 to 1041", "1063 to 1072", "1075 to 1092", "1095 to 1096", "1258 to 1264")]
    assert places == sorted(places)
    assert text.count("1258 to 1264") == 1


def test_a_silent_still_frame_says_what_it_lacks() -> None:
    text = measure_table_text(bare())
    assert "1 frame, 1001" in text
    assert "none" in text
    assert "No findings" in text


def test_a_sound_alone_has_no_picture_rows() -> None:
    text = measure_table_text(sound_only())
    assert "stillness" not in text
    assert "cuts" not in text


@settings(max_examples=30)
@given(st.text(min_size=1, max_size=30))
def test_names_are_never_read_as_markup(name: str) -> None:
    text = measure_table_text(measured(names=Names(one="[red]x[/red]" + name, says="[bold]plain[/bold]")))
    assert "[bold]plain[/bold]" in text
    assert "\x1b" not in text
