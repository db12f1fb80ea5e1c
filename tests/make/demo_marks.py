"""The demo film measured from its marks, cheaply: only the marks and the stretches of frames that its planted faults need.

Following every mark of both takes costs some 140 s of processor time; that is a row of the bench (part demo). What is followed here is followed as ever: a
stretch counts as a shot of its own, so that a mark is followed only within it, and the checks then run on the film as it is cut.
"""

from __future__ import annotations

import json
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import replace
from importlib.resources import files
from typing import Any

from shotcrit.checks.finding import Finding, NotMeasured
from shotcrit.checks.installed import door
from shotcrit.checks.registry import run_checks
from shotcrit.measuring.acting import acting_of
from shotcrit.measuring.demo import STEM
from shotcrit.measuring.measure import Workbench, measure, open_medium
from shotcrit.measuring.request import MeasureRequest
from shotcrit.progress import Quiet
from shotcrit.readings.cast import Cast, Marked

Needed = tuple[tuple[int, int], dict[str, set[str]]]
Fault = dict[str, Any]
STRETCHES = {"take1": ((1036, 1110), (1111, 1160), (1214, 1297)), "take2": ((1036, 1110), (1111, 1160), (1226, 1278))}
"""Shown frames that hold what was planted and the frames on which marks were placed near it; the same moments of the story in both takes."""
FIRST_TAKE = "take1"


def needed_of(take: str, cast: Cast) -> tuple[Needed, ...]:
    """Whose marks are followed over which frames: what each planted fault's check says that it needs, in take 2 also for the faults that it repairs."""
    whose: list[dict[str, set[str]]] = []
    for index, stretch in enumerate(STRETCHES[take]):
        faults = [fault for name in {FIRST_TAKE, take} for fault in planted_in(name) if _inside(fault, STRETCHES[name][index])]
        whose.append(defaultdict(set))
        for fault in faults:
            for who, mark in _marks(fault, stretch, cast):
                whose[index][who].add(mark)
    return tuple(zip(STRETCHES[take], whose, strict=True))


def planted_in(take: str) -> list[Fault]:
    """The faults of a take's key that an installed check looks for."""
    key = json.loads((files("shotcrit") / "demo_film" / f"{STEM}_{take}.key.json").read_text(encoding="utf-8"))
    return [fault for fault in key["planted"] if fault["check"] in door().checks]


def told_by_marks(take: str) -> list[Fault]:
    """Those of them that marks can tell: faults of the picture or the sound alone, and such as lie within one stretch on which marks were placed."""
    needs = {fault["check"]: door().checks[fault["check"]].about.needs.marks for fault in planted_in(take)}
    return [fault for fault in planted_in(take) if not needs[fault["check"]] or any(_inside(fault, stretch) for stretch in STRETCHES[take])]


def _inside(fault: Fault, stretch: tuple[int, int]) -> bool:
    return bool(stretch[0] <= fault["first"] and fault["last"] <= stretch[1])


def _marks(fault: Fault, stretch: tuple[int, int], cast: Cast) -> Iterator[tuple[str, str]]:
    needs = door().checks[fault["check"]].about.needs
    yield from ((fault["who"], mark) for mark in needs.marks)
    seen = {look.at for look in cast.looks if look.who == fault["who"] and look.first <= stretch[1] and look.last >= stretch[0]}
    yield from ((who, mark) for who in seen for mark in needs.theirs)
    for contact in cast.contacts if needs.contacts else ():
        yield from ((name.partition(".")[0], name.partition(".")[2]) for name in (contact.a, contact.b))


def measured_in_pieces(asked: MeasureRequest, take: str, bench: Workbench) -> tuple[tuple[Finding, ...], tuple[NotMeasured, ...]]:
    """All checks on a take of the demo film with what its planted faults need of its cast. Sound and picture come from the bench's cache."""
    assert asked.cast is not None
    movie = open_medium(asked)
    bare = measure(replace(asked, cast=None), bench, movie=movie).readings
    assert bare.picture is not None
    needed = needed_of(take, asked.cast)
    request = replace(asked, cast=_reduced(asked.cast, needed))
    apart = replace(bare.picture, cuts=_edges(needed, movie.info.first_frame, bare.picture.cuts))
    kept = bench.cache.medium(movie.info.sha256)
    acted = acting_of(replace(bare, cast=request.cast, picture=apart), request, movie, kept, Quiet())
    found = run_checks(replace(acted, picture=bare.picture), {})
    return tuple(found[0]), tuple(found[1])


def _edges(needed: tuple[Needed, ...], first_frame: int, cuts: tuple[int, ...]) -> tuple[int, ...]:
    edges = {edge - first_frame for (first, last), _ in needed for edge in (first, last + 1)}
    return tuple(sorted({*edges, *cuts} - {0}))


def _reduced(cast: Cast, needed: tuple[Needed, ...]) -> Cast:
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
