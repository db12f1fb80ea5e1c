"""What every finding holds to, whichever check wrote it."""

from __future__ import annotations

import pytest

from shotcrit.checks.finding import COMMON, Finding
from shotcrit.clock import Span


@pytest.mark.parametrize(
    ("wrote", "reads"),
    [
        ("kite's handle slides", "Kite's handle slides."),
        ("The shot dies. ", "The shot dies."),
        ("is it meant?", "Is it meant?"),
        ("“mine” is late", "“mine” is late."),
        ("", ""),
    ],
)
def test_what_a_check_says_is_a_written_sentence(wrote: str, reads: str) -> None:
    found = Finding("hold", "tail", None, Span(0, 1), 1, "frames", 1, "must", 1.0, wrote, wrote, COMMON)
    assert (found.says, found.suggest) == (reads, reads)
