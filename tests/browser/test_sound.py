"""What is heard: the samples on their way to the ear, caught where the page hands them to the sound card.

The film's sound is a tone that rises steadily, so that its pitch tells which moment of the film is heard, and how fast.
"""

from __future__ import annotations

import base64
from collections.abc import Iterator
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray
from playwright.sync_api import Page
from tests.browser.room_page import go_to, open_room, press, wait_until
from tests.make import films
from tests.make.open_rooms import KnownWorker, served

from shotcrit.room.serve import Serving

RATE = 48_000
SECONDS = 6
LOW_HZ = 400.0
RISE_HZ = 300.0
"""A second. One frame at 24 fps is 12.5 Hz higher than the one before: 3 % at the beginning, 0.6 % at the end."""
QUIET_S = (3.0, 4.0)
QUIET = 0.003
"""About -50 dB below full scale, as loud as a breath in a recorded line."""
LOUD = 0.4
CEILING = 10 ** (-12 / 20)
"""What the quiet is lifted to at most, unless one changes it."""
WINDOW = 1920
"""Samples over which a pitch is read: 40 ms."""

CATCH = """
window.heard = [];
const start = AudioBufferSourceNode.prototype.start;
AudioBufferSourceNode.prototype.start = function (...how) {
  const data = this.buffer.getChannelData(0).slice();
  window.heard.push({ when: how[0] ?? null, rate: this.buffer.sampleRate, long: data.length, data });
  return start.apply(this, how);
};
// Told only when it is asked for: a page that is kept busy while it schedules hands over less than it has.
const text = (bytes) => {
  let all = '';
  for (let k = 0; k < bytes.length; k += 4096) all += String.fromCharCode(...bytes.subarray(k, k + 4096));
  return btoa(all);
};
window.told = () => window.heard.map((h) => ({ ...h, data: text(new Uint8Array(h.data.buffer)) }));
"""
Samples = NDArray[np.float32]


def _rising() -> NDArray[np.float32]:
    t = np.arange(SECONDS * RATE) / RATE
    loud = np.where((t >= QUIET_S[0]) & (t < QUIET_S[1]), QUIET, LOUD)
    return (loud * np.sin(2 * np.pi * (LOW_HZ * t + RISE_HZ * t**2 / 2))).astype(np.float32)


@pytest.fixture(scope="module")
def rising(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Serving]:
    folder = tmp_path_factory.mktemp("rising")
    pictures = films.numbered(SECONDS * 24, size=(96, 54))
    film = films.make_film(folder / "rising.mov", pictures, sound=_rising()[:, None], sound_rate=RATE, gop=12)
    with served(film, folder, worker=KnownWorker(cache=folder / "cache")) as serving:
        yield serving


@pytest.fixture
def ear(rising: Serving, room_page: Page) -> Page:
    room_page.add_init_script(CATCH)
    open_room(room_page, rising.address)
    wait_until(room_page, "!document.querySelector('[data-act=closer]').disabled")
    return room_page


def _pitch(data: Samples) -> float:
    """Hz, from the rising zero crossings."""
    ups = np.flatnonzero((data[:-1] < 0) & (data[1:] >= 0))
    at = ups + data[ups] / (data[ups] - data[ups + 1])
    return float((len(at) - 1) * RATE / (at[-1] - at[0]))


def _hz(moment_s: float) -> float:
    return LOW_HZ + RISE_HZ * moment_s


def _samples(heard: dict[str, Any]) -> Samples:
    return np.frombuffer(base64.b64decode(heard["data"]), "<f4")


def _piece(page: Page, key: str, frame: int) -> Samples:
    """What one step lets hear."""
    page.evaluate("window.heard = []")
    press(page, key)
    page.evaluate("(frame) => window.until(frame)", frame)
    wait_until(page, "window.heard.length > 0")
    heard = page.evaluate("window.told()")
    assert len(heard) == 1
    return _samples(heard[0])


def _run(page: Page, key: str) -> Samples:
    """The first second of a run, joined as it was scheduled."""
    page.evaluate("window.heard = []")
    press(page, key)
    wait_until(page, f"window.heard.reduce((sum, h) => sum + h.long, 0) >= {RATE}")
    press(page, key)
    heard: list[dict[str, Any]] = page.evaluate("window.told()")
    heard = heard[: next(k for k in range(1, len(heard) + 1) if sum(h["long"] for h in heard[:k]) >= RATE)]
    ends = [h["when"] + h["long"] / h["rate"] for h in heard]
    assert [h["when"] for h in heard[1:]] == pytest.approx(ends[:-1], abs=1e-6), "one chunk goes on where the last one ends"
    assert {h["rate"] for h in heard} == {RATE}
    return np.concatenate([_samples(h) for h in heard])[:RATE]


def test_each_step_either_way_lets_hear_exactly_its_frame(ear: Page) -> None:
    heard: dict[int, Samples] = {}
    for key, frames in (("ArrowDown", (1, 2, 3, 4)), ("ArrowUp", (3, 2, 1))):
        for i in frames:
            piece = _piece(ear, key, i)
            assert len(piece) == RATE / 24
            assert _pitch(piece[100:-100]) == pytest.approx(_hz((i + 0.5) / 24), abs=RISE_HZ / 24 / 4)
            # A frame sounds the same, whichever way one comes to it.
            assert np.array_equal(piece, heard.setdefault(i, piece))


@pytest.mark.parametrize("kept", [True, False], ids=["pitch kept", "pitch follows"])
def test_a_run_sounds_as_fast_and_as_high_as_it_says_either_way(ear: Page, kept: bool) -> None:
    if not kept:
        press(ear, "k")
    for keys, speed in (("", 1.0), ("ssss", 0.25), ("qqqqqqq", 2.0)):
        press(ear, *keys)
        for key, way, begin in (("r", 1, 0 if speed > 1 else 48), ("Shift+r", -1, 71)):  # a second from there stays within the loud
            go_to(ear, begin + 1001)
            _judge(_run(ear, key), origin=(begin + (way < 0)) / 24, rate=way * speed, kept=kept)


def _judge(sound: Samples, *, origin: float, rate: float, kept: bool) -> None:
    """origin : second of the film at which the run begins; rate : seconds of the film a second, negative when run back"""
    played = 1 if kept else abs(rate)
    for k in range(4, 20, 3):
        window = sound[k * WINDOW : (k + 1) * WINDOW]
        wanted = _hz(origin + rate * (k + 0.5) * WINDOW / RATE) * played
        # Half a frame of the film either way, which is how far pieces may stray that keep the pitch.
        assert _pitch(window) == pytest.approx(wanted, abs=RISE_HZ / 48 * played + 2), f"at {rate}, {k * 40} ms into the run"
        assert np.abs(window).max() == pytest.approx(LOUD, rel=0.12)


def test_listening_closer_lifts_the_quiet_to_a_ceiling_and_leaves_the_loud_as_it_is(ear: Page) -> None:
    def second(frame: int) -> Samples:
        go_to(ear, frame + 1001)
        return _run(ear, "r")

    plain = {name: second(frame) for name, frame in {"loud": 24, "quiet": 72}.items()}
    press(ear, "h")
    lifted = {name: second(frame) for name, frame in {"loud": 24, "quiet": 72}.items()}
    assert np.array_equal(lifted["loud"], plain["loud"])
    inside = slice(RATE // 10, -RATE // 10)  # where the gain glides up and down is judged below
    gain_db = 20 * np.log10(np.abs(lifted["quiet"][inside]).max() / np.abs(plain["quiet"][inside]).max())
    assert 18 < gain_db <= 24.1
    assert np.abs(lifted["quiet"]).max() <= max(CEILING, np.abs(plain["quiet"]).max()) + 1e-6
    assert np.all(np.abs(lifted["quiet"]) >= np.abs(plain["quiet"]) - 1e-6), "nothing is made quieter"
    # One curve of gain and no other change: the lifted sound is the plain one times what moves slowly.
    heard = np.abs(plain["quiet"]) > QUIET / 4
    gains = lifted["quiet"][heard] / plain["quiet"][heard]
    assert np.abs(np.diff(gains)).max() < 0.5
