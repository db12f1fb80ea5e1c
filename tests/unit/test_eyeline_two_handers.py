"""Generated two-handers, half of them with a planted fault, by unlike generators; seeds that nothing was tuned on.

Planted sizes. Level 3: 6 degrees too high or low, 8 to the side, 9 beside the lens; two in one picture, and a shot with its reverse.
Level 2 by numbers: the same with eyes known to 1.5 degrees each; to the side 12 (both look at each other). Level 2 by pictures: heads ray cast, eyes of
50 to 58 px read by the real reading, an unknown lens, the other seen from behind two to three heads away: 14 degrees of height, the wrong side of
the lens, 9 degrees beside the lens. Four of these are tested here; recall and precision over forty are a row of the bench (part looks).
"""

from __future__ import annotations

import pytest
from tests.make.scored_looks import Scenes, as_picture, flagged, in_one_picture, score, shot_and_reverse


@pytest.mark.parametrize("scenes", [in_one_picture(3, 2000), shot_and_reverse(2100)], ids=["one picture", "shot and reverse"])
def test_level_3(scenes: Scenes) -> None:
    recall, precision = score(scenes)
    assert recall >= 0.95
    assert precision >= 0.95


@pytest.mark.parametrize("first", [2200, 2300])
def test_level_2_by_numbers(first: int) -> None:
    recall, precision = score(in_one_picture(2, first))
    assert recall >= 0.85
    assert precision >= 0.85


@pytest.mark.parametrize(("kind", "faulty"), [(0, True), (3, True), (1, False), (3, False)])
def test_level_2_by_pictures(kind: int, faulty: bool) -> None:
    """Too high, beside the lens, and a look of either kind that is right."""
    assert flagged(as_picture(2500 + kind, kind, faulty=faulty)) is faulty
