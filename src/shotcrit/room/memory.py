"""What a room keeps in mind between requests. All of it can be found out again."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

from shotcrit.checks.measured import Measured
from shotcrit.clock import FrameClock
from shotcrit.elsewhere.near import Playhead
from shotcrit.readings.acting import MarkTrack
from shotcrit.room.shelf import Shelf


@dataclass
class Memory:
    """hashes: (path, size, time, sha256) -> whether it is that file; clocks by sha256; shelves, playheads and the rest by take id.

    measured : last measurement as measured, and the limits it was judged by; checked : (what it was made from, measurement with corrections)
    following : by take, the tracks of marks as far as they are followed now
    maps : (sha256 of the old take, of the new) -> frame map; orders : what the running measurement was asked for
    """

    hashes: dict[tuple[Any, ...], bool] = field(default_factory=dict)
    clocks: dict[str, FrameClock] = field(default_factory=dict)
    shelves: dict[str, Shelf] = field(default_factory=dict)
    playheads: dict[str, Playhead] = field(default_factory=dict)
    stills: OrderedDict[tuple[str, int, int], bytes] = field(default_factory=OrderedDict)
    measured: dict[str, tuple[Measured, dict[str, float]]] = field(default_factory=dict)
    checked: dict[str, tuple[object, Measured]] = field(default_factory=dict)
    following: dict[str, tuple[MarkTrack, ...]] = field(default_factory=dict)
    maps: dict[tuple[str, str], Sequence[int | None]] = field(default_factory=dict)
    orders: dict[str, object] = field(default_factory=dict)
