"""Lines files that are not what they should be: one sentence each, which names the file and says what to do."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shotcrit.errors import InputError
from shotcrit.readings.sound.lines_file import BIGGEST_FILE, parse_lines, read_lines

BAD = {
    "latin-1": ("Ada: Le café est fermé.\nBen: Où?\n".encode("latin-1"), "not UTF-8 text (line 1)"),
    "latin-1 further down": (b"Ada: Fine.\nBen: na\xefve\n", "not UTF-8 text (line 2)"),
    "utf-16": ("Ada: The kite.".encode("utf-16"), "UTF-16"),
    "binary": (bytes(range(256)) * 4, "not text"),
    "empty": (b"", "no spoken words"),
    "huge": (b"a" * (BIGGEST_FILE + 1), "over 4 MB"),
    "vtt cut off": (b"WEBVTT\n\n00:01.000 --> 00:0", "cue"),
}


@pytest.mark.parametrize(("data", "says"), BAD.values(), ids=list(BAD))
def test_one_sentence(tmp_path: Path, data: bytes, says: str) -> None:
    path = tmp_path / "lines.txt"
    path.write_bytes(data)
    with pytest.raises(InputError) as caught:
        read_lines(path)
    text = str(caught.value)
    assert text.startswith(str(path))
    assert says in text
    assert "\n" not in text


@pytest.mark.parametrize("name", ["missing.txt", "."])
def test_no_file_there(tmp_path: Path, name: str) -> None:
    with pytest.raises(InputError, match="cannot be read"):
        read_lines(tmp_path / name)


@settings(max_examples=150)
@given(st.text(max_size=300) | st.text("AB:[]()|<>v-\n '\"1&", max_size=200) | st.text(max_size=200).map("WEBVTT\n\n".__add__))
def test_any_text_gives_lines_or_one_sentence(text: str) -> None:
    try:
        found = parse_lines(text)
    except InputError as caught:
        problem = str(caught)
        found = ()
    else:
        problem = ""
    assert "\n" not in problem
    assert bool(found) != bool(problem)
    assert all(line.words for line in found)
