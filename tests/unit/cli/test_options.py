"""What the command line refuses before any work, and where it may write."""

from __future__ import annotations

import os
import threading
from pathlib import Path

import pytest

from shotcrit.checks.registry import all_checks
from shotcrit.cli.options import measure_request
from shotcrit.deliver.atomic import write_whole
from shotcrit.errors import InputError


@pytest.mark.parametrize(("limit", "first_frame"), [("hold.ends=nan", 1), ("hold.ends=-1", 1), ("hold.ends=inf", 1), (None, 10**20)])
def test_numbers_that_mean_nothing_are_refused_in_one_sentence(tmp_path: Path, limit: str | None, first_frame: int) -> None:
    with pytest.raises(InputError, match=limit or str(first_frame)):
        measure_request(
            tmp_path / "a.wav", lines=None, cast=None, scene=None, sound=None, rate=None, first_frame=first_frame, medium="cg",
            limit=[limit] if limit else None,
        )  # fmt: skip


def test_the_example_that_a_refusal_gives_is_taken(tmp_path: Path) -> None:
    """Someone will copy it."""
    with pytest.raises(InputError) as refused:
        measure_request(
            tmp_path / "a.wav", lines=None, cast=None, scene=None, sound=None, rate=None, first_frame=1, medium="cg", limit=["x"]
        )  # fmt: skip
    name, _, _ = str(refused.value).rpartition(" ")[2].partition("=")
    assert name in {f"{check.ID}.{limit.name}" for check in all_checks() for limit in check.LIMITS}


def test_what_is_no_file_is_written_to_and_not_replaced(tmp_path: Path) -> None:
    pipe, heard = tmp_path / "pipe", list[bytes]()
    os.mkfifo(pipe)
    reader = threading.Thread(target=lambda: heard.append(pipe.read_bytes()))
    reader.start()
    write_whole(pipe, b"words")
    reader.join(10)
    assert heard == [b"words"]
    assert pipe.is_fifo()


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="no /dev/full here")
def test_a_full_device_is_told_and_left(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="No space left"):
        write_whole(Path("/dev/full"), b"words")
    assert Path("/dev/full").is_char_device()
