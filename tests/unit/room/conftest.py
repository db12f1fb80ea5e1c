"""One film for all tests of the room; a new crit for each."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from tests.make.rooms import Guest, guest, lantern_film


@pytest.fixture(scope="session")
def film(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return lantern_film(tmp_path_factory.mktemp("film"))


@pytest.fixture
def room(film: Path, tmp_path: Path) -> Iterator[Guest]:
    with guest(film, tmp_path) as inside:
        yield inside
