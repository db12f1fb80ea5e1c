"""A crit of the demo world, ready to be sent: four notes, drawings with pressure, frames to play and their sound."""

from __future__ import annotations

import io
import math
import wave
from collections.abc import Callable

import numpy as np

from shotcrit.crit.records import Stroke
from shotcrit.deliver.crit_input import CritForDelivery, Drawn, NoteForDelivery, Snippet
from tests.make.measured import Names, measured

Still = Callable[[int, int], bytes]
SOUND_RATE = 8000


def tone_wav(frames: int, *, rate: float = 24.0) -> bytes:
    """A WAV of 220 Hz, exactly as long as `frames` pictures."""
    at = np.arange(round(frames / rate * SOUND_RATE)) / SOUND_RATE
    samples = (np.sin(2 * math.pi * 220 * at) * 8000).astype("<i2")
    out = io.BytesIO()
    with wave.open(out, "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(2)
        file.setframerate(SOUND_RATE)
        file.writeframes(samples.tobytes())
    return out.getvalue()


def arc_stroke() -> Stroke:
    """A pencilled arc, pressed hardest in its middle."""
    points = tuple((0.3 + 0.004 * i, 0.55 - 0.12 * math.sin(i / 50 * math.pi), math.sin(i / 50 * math.pi), 8.0 * i) for i in range(51))
    return Stroke(tool="pencil", colour="blue", width=0.014, points=points)


def sight_strokes() -> tuple[Stroke, ...]:
    """An eye line as it is, and as it should be."""
    line = {"tool": "sight", "width": 0.006}
    return (
        Stroke(colour="red", points=((0.42, 0.4, 0.5, 0), (0.74, 0.18, 0.5, 100)), **line),
        Stroke(colour="white", dashed=True, points=((0.42, 0.4, 0.5, 0), (0.76, 0.46, 0.5, 100)), **line),
        Stroke(tool="ellipse", colour="ochre", width=0.006, points=((0.7, 0.4, 0.5, 0), (0.82, 0.54, 0.5, 50))),
        Stroke(tool="text", colour="white", points=((0.6, 0.6, 0.5, 0),), text="his eyes are here"),
        Stroke(tool="eraser", width=0.03, points=((0.55, 0.2, 0.5, 0), (0.6, 0.4, 0.5, 20))),
    )


def crit(still: Still, *, names: Names | None = None, frames: int = 264) -> CritForDelivery:
    """Three things to do and one to keep."""
    names = names or Names()
    notes = (
        NoteForDelivery(
            id="n1", first=74, last=91, weight="must", who=names.one, value="14.2\u00b0 too high",
            what=f"{names.one} looks over {names.other}'s head. He is sitting.",
            why="We lose whom she speaks to, and the promise with it.",
            suggest="Drop both irises by a third of their width; let the lids follow.",
            drawings=(Drawn(80, 84, sight_strokes()),), at=82, still=still(82, 960), snippet=_snippet(still, 74, 91),
        ),
        NoteForDelivery(
            id="n2", first=60, last=72, weight="must", who=names.one,
            what="We hear her breathe in, we don't see it.", why=names.says,
            suggest="Open the mouth over 1061 to 1064 and lift the shoulders into it.",
            drawings=(Drawn(60, 72, (arc_stroke(),)),), still=still(60, 960), snippet=_snippet(still, 60, 72),
        ),
        NoteForDelivery(id="n3", first=257, last=263, weight="polish", what="The end stands still for seven frames.", still=still(260, 960)),
        NoteForDelivery(
            id="n4", first=33, last=48, weight="keep", who=names.one,
            what="The little drop before \u201cpromised\u201d sells the whole line.", still=still(34, 960),
        ),
    )  # fmt: skip
    return CritForDelivery(
        crit="c-lantern",
        take="t3",
        shot=names.shot,
        take_label="take 3",
        measured=measured(names=names, frames=frames),
        overall="Nearly there. The promise works; now let us see whom it is for.",
        praise="The timing of the turn, and the weight of the lantern.",
        one_thing="n1",
        notes=notes,
        animator="Ada",
        reviewer="Ben, 25 November",
        shot_stills={0: still(0, 240), 96: still(96, 240)},
    )


def _snippet(still: Still, first: int, last: int) -> Snippet:
    return Snippet(first, tuple(still(i, 480) for i in range(first, last + 1)), tone_wav(last - first + 1))
