"""The cache: what is kept comes back, what is damaged is made again, two processes may share it, and it stays within its limit."""

from __future__ import annotations

import errno
import os
import subprocess
import sys
import time
from pathlib import Path

import numpy as np
import pytest

from shotcrit.errors import InputError, MediaError
from shotcrit.store.cache import Cache, open_cache

SHA = "0123456789abcdef" * 4
OTHER = "fedcba9876543210" * 4
ROWS = np.arange(12, dtype=np.float32).reshape(4, 3)


@pytest.fixture
def cache(tmp_path: Path) -> Cache:
    return open_cache(root=tmp_path / "cache", limit_gb=1)


def only_file(cache: Cache, ending: str) -> Path:
    (found,) = cache.root.rglob(f"*{ending}")
    return found


def test_rows_and_bytes_come_back(cache: Cache) -> None:
    kept = cache.medium(SHA)
    kept.save("motion", 2, 0, ROWS)
    kept.put("words", 1, b"some words")
    again = open_cache(root=cache.root).medium(SHA)
    np.testing.assert_array_equal(again.load("motion", 2, 0), ROWS)
    assert again.get("words", 1) == b"some words"


def test_another_version_block_name_or_medium_is_not_it(cache: Cache) -> None:
    cache.medium(SHA).save("motion", 2, 0, ROWS)
    assert cache.medium(SHA).load("motion", 3, 0) is None
    assert cache.medium(SHA).load("motion", 2, 1) is None
    assert cache.medium(SHA).load("still", 2, 0) is None
    assert cache.medium(OTHER).load("motion", 2, 0) is None


@pytest.mark.parametrize("at", [0, 5, 17, 30, 49, 100, -1])
def test_one_flipped_bit_anywhere_is_found(cache: Cache, at: int) -> None:
    kept = cache.medium(SHA)
    kept.save("motion", 1, 0, ROWS)
    path = only_file(cache, ".rows")
    data = bytearray(path.read_bytes())
    data[at] ^= 4
    path.write_bytes(data)
    assert kept.load("motion", 1, 0) is None
    assert not path.exists()


def test_every_truncation_is_found(cache: Cache) -> None:
    kept = cache.medium(SHA)
    kept.put("words", 1, b"some words")
    path = only_file(cache, ".part")
    whole = path.read_bytes()
    for length in range(len(whole)):
        path.write_bytes(whole[:length])
        assert kept.get("words", 1) is None


def test_a_folder_in_a_files_place_is_taken_away(cache: Cache) -> None:
    kept = cache.medium(SHA)
    (kept._part("words", 1) / "in it").mkdir(parents=True)
    (kept._block("still", 1, 0) / "in it").mkdir(parents=True)
    assert kept.get("words", 1) is None
    assert kept.load("still", 1, 0) is None
    (kept._part("words", 1)).mkdir()
    kept.put("words", 1, b"there")
    assert kept.get("words", 1) == b"there"


def test_rows_that_are_no_rows_are_dropped(cache: Cache) -> None:
    kept = cache.medium(SHA)
    kept.save("motion", 1, 0, ROWS)
    kept.put("words", 1, b"not an array")
    only_file(cache, ".part").replace(only_file(cache, ".rows"))
    assert kept.load("motion", 1, 0) is None


@pytest.mark.parametrize("name", ["", "../x", "a/b", "A b", "x" * 200, ".hidden", "a..b"])
def test_a_name_cannot_leave_the_folder(cache: Cache, name: str) -> None:
    with pytest.raises(InputError):
        cache.medium(SHA).put(name, 1, b"")


@pytest.mark.parametrize("sha", ["", "abc", "../../" + "a" * 58, "G" * 64])
def test_a_hash_is_a_hash(cache: Cache, sha: str) -> None:
    with pytest.raises(InputError, match="sha256"):
        cache.medium(sha)


def test_size_and_clear(cache: Cache) -> None:
    assert cache.size() == 0
    cache.medium(SHA).put("big", 1, b"x" * 5000)
    assert 5000 < cache.size() < 5200
    cache.clear()
    assert cache.size() == 0
    assert cache.medium(SHA).get("big", 1) is None


def aged(cache: Cache, sha: str, hours: float, size: int) -> None:
    cache.medium(sha).put("big", 1, b"x" * size)
    then = time.time() - hours * 3600
    os.utime(cache.medium(sha).folder / "used", (then, then))


def test_trimming_takes_the_longest_unused_first_and_no_more_than_needed(cache: Cache) -> None:
    small = Cache(cache.root, limit=2500)
    for letter, hours in (("a", 5), ("b", 9), ("c", 7)):
        aged(small, letter * 64, hours, 1000)
    freed = small.trim()
    left = [letter for letter in "abc" if (cache.root / "media" / (letter * 2) / (letter * 64)).exists()]
    assert left == ["a", "c"]
    assert 1000 <= freed < 1200
    assert small.trim() == 0


def test_trimming_spares_what_is_in_use(cache: Cache) -> None:
    nothing = Cache(cache.root, limit=0)
    aged(nothing, "a" * 64, 5, 1000)
    aged(nothing, "b" * 64, 0.1, 1000)
    aged(nothing, "c" * 64, 5, 1000)
    nothing.trim(keep=["c" * 64])
    assert sorted(p.name[0] for p in (cache.root / "media").glob("??/*")) == ["b", "c"]


def test_a_full_disk_is_one_sentence_and_leaves_nothing(cache: Cache, monkeypatch: pytest.MonkeyPatch) -> None:
    kept = cache.medium(SHA)

    def full(source: object, target: object) -> None:
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr("shotcrit.media.whole.os.replace", full)
    with pytest.raises(MediaError, match=r"full disk.*make room"):
        kept.save("motion", 1, 0, ROWS)
    monkeypatch.undo()
    assert [p.name for p in cache.root.rglob("*") if p.is_file()] == ["used"]


def test_a_folder_that_vanishes_under_a_write_is_made_again(cache: Cache, monkeypatch: pytest.MonkeyPatch) -> None:
    kept = cache.medium(SHA)
    real, calls = os.replace, []

    def once_gone(source: str, target: str) -> None:
        calls.append(1)
        if len(calls) == 1:
            cache.clear()
        real(source, target)

    monkeypatch.setattr("shotcrit.media.whole.os.replace", once_gone)
    kept.put("words", 1, b"kept")
    assert kept.get("words", 1) == b"kept"


def test_settings(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("SHOTCRIT_CACHE", str(tmp_path / "here"))
    monkeypatch.setenv("SHOTCRIT_CACHE_GB", "1.5")
    assert open_cache() == Cache(tmp_path / "here", 1_500_000_000)
    for wrong in ("many", "-1", "nan", "inf"):
        monkeypatch.setenv("SHOTCRIT_CACHE_GB", wrong)
        with pytest.raises(InputError, match="SHOTCRIT_CACHE_GB"):
            open_cache()
    monkeypatch.delenv("SHOTCRIT_CACHE_GB")
    assert open_cache().limit == 20_000_000_000


WRITER = """
import sys, numpy as np
from pathlib import Path
from shotcrit.store.cache import open_cache
kept = open_cache(root=Path(sys.argv[1])).medium(sys.argv[2])
seed = int(sys.argv[3])
wrong = 0
for turn in range(60):
    for block in range(3):
        rows = np.full((50, 4), block, np.float32)
        found = kept.load("motion", 1, block)
        wrong += found is not None and not np.array_equal(found, rows)
        kept.save("motion", 1, block, rows)
    if seed and turn % 20 == 19:
        open_cache(root=Path(sys.argv[1])).clear()
sys.exit(min(wrong, 100))
"""


def test_two_processes_share_it_even_while_one_clears_it(cache: Cache) -> None:
    runs = [subprocess.Popen([sys.executable, "-c", WRITER, str(cache.root), SHA, str(seed)]) for seed in (0, 1)]
    assert [run.wait(60) for run in runs] == [0, 0]
    parts = list(cache.root.rglob(".part-*"))
    assert parts == []
