"""Work on threads beside each other: all of it is done, what one raises reaches the caller, and a stop reaches the work."""

from __future__ import annotations

import threading
import time

import pytest

from shotcrit.errors import Stopped
from shotcrit.readings.picture.side_by_side import Going, side_by_side


def test_all_is_done_and_counted() -> None:
    done: list[int] = []
    told: list[int] = []

    def work(name: int):  # type: ignore[no-untyped-def]
        def go(going: Going) -> None:
            for _ in range(5):
                going.on()
            done.append(name)

        return go

    side_by_side([work(k) for k in range(7)], told.append)
    assert sorted(done) == list(range(7))
    assert told[0] == 0
    assert told[-1] == 35


def test_what_one_raises_ends_the_others_and_reaches_the_caller() -> None:
    ended = threading.Event()

    def endless(going: Going) -> None:
        try:
            while True:
                going.on()
                time.sleep(0.001)
        finally:
            ended.set()

    def broken(_going: Going) -> None:
        raise ValueError("a picture is gone")

    with pytest.raises(ValueError, match="a picture is gone"):
        side_by_side([broken, endless], lambda _done: None)
    assert ended.wait(90) or not any(t.name.startswith("marks") for t in threading.enumerate())


def test_a_stop_by_who_watches_ends_the_work() -> None:
    steps: list[int] = []

    def endless(going: Going) -> None:
        while True:
            going.on()
            steps.append(1)
            time.sleep(0.001)

    def watch(done: int) -> None:
        if done > 3:
            raise Stopped("enough")

    with pytest.raises(Stopped):
        side_by_side([endless], watch)
    count = len(steps)
    time.sleep(0.05)
    assert len(steps) == count
