"""The demo film measured from its marks, cheaply: only the marks and the stretches of frames that its planted faults need.

Following every mark of both takes costs some 140 s of processor time; that is a row of the bench (part demo). What is followed here is followed as ever: a
stretch counts as a shot of its own, so that a mark is followed only within it, and the checks then run on the film as it is cut.
"""

from __future__ import annotations

from dataclasses import replace

from shotcrit.checks.finding import Finding, NotMeasured
from shotcrit.checks.registry import run_checks
from shotcrit.measuring.acting import acting_of
from shotcrit.measuring.measure import Workbench, measure, open_medium
from shotcrit.measuring.request import MeasureRequest
from shotcrit.progress import Quiet
from shotcrit.readings.cast import Cast, Marked

MOUTH = ("nose", "chin", "head_top", "mouth_left", "mouth_right", "lip_upper", "lip_lower")
EYES = (
    *(f"{part}_{side}" for part in ("eye", "iris", "lid_upper", "lid_lower") for side in ("left", "right")),
    "eye_left_edge",
    "eye_right_edge",
)
Needs = tuple[tuple[int, int], dict[str, tuple[str, ...]]]
NEEDED: dict[str, tuple[Needs, ...]] = {
    "take1": (
        ((1055, 1110), {"Bram": ("hand_right",), "lantern": ("handle",)}),
        ((1111, 1160), {"Bram": (*MOUTH, "chest", "shoulder_left")}),
        ((1214, 1297), {"Bram": ("nose", "chin", "head_top", "eye_left"), "Oona": (*MOUTH, *EYES)}),
    ),
    "take2": (
        ((1055, 1110), {"Bram": ("hand_right",), "lantern": ("handle",), "Oona": MOUTH}),
        ((1111, 1160), {"Bram": (*MOUTH, "chest", "shoulder_left")}),
        ((1226, 1278), {"Bram": ("nose", "chin", "head_top", "eye_left"), "Oona": (*MOUTH, *EYES)}),
    ),
}  # fmt: skip
"""Shown frames, and whose marks are followed over them: the slip; the breath and the m (in take 2 the b); the look and the line."""


def measured_in_pieces(asked: MeasureRequest, take: str, bench: Workbench) -> tuple[tuple[Finding, ...], tuple[NotMeasured, ...]]:
    """All checks on a take of the demo film with what NEEDED names of its cast. Sound and picture come from the bench's cache where they are there."""
    assert asked.cast is not None
    movie = open_medium(asked)
    bare = measure(replace(asked, cast=None), bench, movie=movie).readings
    assert bare.picture is not None
    request = replace(asked, cast=_reduced(asked.cast, NEEDED[take]))
    apart = replace(bare.picture, cuts=_edges(NEEDED[take], movie.info.first_frame, bare.picture.cuts))
    kept = bench.cache.medium(movie.info.sha256)
    acted = acting_of(replace(bare, cast=request.cast, picture=apart), request, movie, kept, Quiet())
    found = run_checks(replace(acted, picture=bare.picture), {})
    return tuple(found[0]), tuple(found[1])


def _edges(needed: tuple[Needs, ...], first_frame: int, cuts: tuple[int, ...]) -> tuple[int, ...]:
    edges = {edge - first_frame for (first, last), _ in needed for edge in (first, last + 1)}
    return tuple(sorted({*edges, *cuts} - {0}))


def _reduced(cast: Cast, needed: tuple[Needs, ...]) -> Cast:
    """The cast with the marks of each stretch that are named for it."""

    def part(whole: Marked) -> Marked:
        kept = {
            name: tuple(
                p for p in placed if any(first <= p.frame <= last and name in who.get(whole.name, ()) for (first, last), who in needed)
            )
            for name, placed in whole.marks.items()
        }
        return whole.model_copy(update={"marks": {name: placed for name, placed in kept.items() if placed}})

    return cast.model_copy(update={"characters": tuple(map(part, cast.characters)), "props": tuple(map(part, cast.props))})
