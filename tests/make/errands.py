"""Work to be done elsewhere, of every kind that ends badly; at the top of a module, where another process finds it."""

from __future__ import annotations

import os
import signal
import time
from typing import Any

import numpy as np

from shotcrit.elsewhere.far import Watch
from shotcrit.errors import InputError


def add(one: int, other: int, _watch: Watch) -> int:
    return one + other


def process(_watch: Watch) -> int:
    return os.getpid()


def count(steps: int, watch: Watch) -> int:
    """Report each step and hand over its number."""
    for i in range(steps):
        watch.step("counting", i, steps)
        watch.tell(i)
    return steps


def count_for_ever(watch: Watch) -> None:
    while True:
        watch.step("counting", 0, None)
        time.sleep(0.01)


def sleep_for_ever(watch: Watch) -> None:
    watch.step("sleeping", 0, None)
    while True:
        time.sleep(1)


def follow_playhead(until: int, watch: Watch) -> int:
    while watch.around() != until:
        watch.step("waiting", 0, None)
        time.sleep(0.01)
    return watch.around()


def die(number: int, _watch: Watch) -> None:
    os.kill(os.getpid(), number)
    time.sleep(60)


def leave(status: int, _watch: Watch) -> None:
    os._exit(status)


def fill_memory(_watch: Watch) -> int:
    held = []
    while True:
        held.append(np.ones(1 << 24))


def refuse(_watch: Watch) -> None:
    raise InputError("kite.mov is empty; copy it again")


def break_off(_watch: Watch) -> None:
    raise KeyError("Oona")


def shout(_watch: Watch) -> str:
    print("this must not get into the answer")
    os.write(1, b"nor this")
    return "quiet"


def unsendable(_watch: Watch) -> Any:
    return lambda: None


SEGFAULT = signal.SIGSEGV
