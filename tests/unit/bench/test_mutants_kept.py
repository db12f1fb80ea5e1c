"""Mutants are tried in chunks: stopped and gone on with, none is left out or tried twice, and what is mended goes from the list."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import pytest
from bench import mutants_kept
from bench.mutants_kept import Tried, go_on, kept
from tests.make.mutants import Mutant


class Attempts:
    """Stands in for trying: notes the numbers. broken : those that go wrong; stop_at : where somebody stops it"""

    def __init__(self, broken: set[int], stop_at: int | None = None) -> None:
        self.numbers: list[int] = []
        self.broken, self.stop_at = broken, stop_at

    def __call__(
        self, work: Path, count: int, seed: int, *, first: int = 0, told: Callable[[Mutant, str], None] = lambda _mutant, _said: None
    ) -> list[str]:
        wrong = []
        for number in range(first, first + count):
            if number == self.stop_at:
                raise KeyboardInterrupt
            self.numbers.append(number)
            told(Mutant(work, "mp4", number), "read")
            wrong += [f"mp4 {seed}-{number}: Died: it - broke"] if number in self.broken else []
        return wrong


def test_what_is_stopped_goes_on_where_it_was(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(mutants_kept, "COUNT", 220)
    file = tmp_path / "tried.json"
    first = Attempts({60}, stop_at=130)
    with pytest.raises(KeyboardInterrupt):
        go_on(file, tmp_path, attempt=first)
    assert kept(file).tried == 100
    assert [number for number, _ in kept(file).wrong] == [60]
    # A chunk that was broken off is tried again from its start, the broken one once more before it.
    second = Attempts({60, 190})
    found = go_on(file, tmp_path, attempt=second)
    assert second.numbers == [60, *range(100, 220)]
    assert (found.tried, [number for number, _ in found.wrong]) == (220, [60, 190])
    third = Attempts(set())
    assert go_on(file, tmp_path, attempt=third).wrong == ()
    assert third.numbers == [60, 190]
    assert kept(file) == Tried(tried=220, slowest_s=kept(file).slowest_s, slowest=kept(file).slowest)


def test_no_more_are_tried_than_asked_for_and_none_past_the_time(tmp_path: Path) -> None:
    file = tmp_path / "tried.json"
    assert go_on(file, tmp_path, most=70, attempt=Attempts(set())).tried == 70
    assert go_on(file, tmp_path, until=0.0, attempt=Attempts(set())).tried == 70


def test_a_file_of_another_seed_counts_for_nothing(tmp_path: Path) -> None:
    file = tmp_path / "tried.json"
    go_on(file, tmp_path, most=10, attempt=Attempts(set()))
    file.write_text(json.dumps({**json.loads(file.read_text()), "seed": 2}))
    assert kept(file).tried == 0
