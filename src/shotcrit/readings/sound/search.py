"""Where in the sound each line is looked for: where something like it was heard, else in what is left between its neighbours, or its cue."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import groupby

from shotcrit.readings.sound.force import Timed, align_words
from shotcrit.readings.sound.given import GivenLine, Phones
from shotcrit.readings.sound.listen import ROW_S, Heard, Listened
from shotcrit.readings.sound.phoneset import split_stress
from shotcrit.readings.sound.place import Place, codes, place_lines

CUE_SLACK_S = 0.3
"""Seconds that speech may run out of its cue: cue times are typed by hand (guess)."""
ROOM_S = 0.35
"""Seconds of sound given to the aligner on both sides of where a line was heard, neighbours permitting (guess)."""
LONGEST_GAP_S = 60.0
"""A line that nothing like it was heard of is looked for in stretches up to this: in longer ones it would be found somewhere (guess)."""

Ways = tuple[tuple[Phones, ...], ...]


@dataclass(frozen=True)
class Found:
    """A line aligned. start_s, end_s: where it was looked for. timed: None where its words do not fit in there.

    fit : gain per phone where something like it was heard freely, None where it was only looked for in what was left
    """

    start_s: float
    end_s: float
    timed: tuple[Timed, ...] | None
    fit: float | None = None


def search(lines: Sequence[GivenLine], ways: Sequence[Ways], sound: Listened, *, skip: Sequence[bool]) -> Iterator[Found | None]:
    """Each line in turn; None for one that is skipped or has no place at all."""
    wanted = [i for i, left_out in enumerate(skip) if not left_out]
    places: list[Place | None] = [None] * len(lines)
    for i, place in zip(wanted, _places([lines[i] for i in wanted], [ways[i] for i in wanted], sound.heard), strict=True):
        places[i] = place
    spare = _spare(lines, ways, places, sound, wanted)
    for index, (line, place) in enumerate(zip(lines, places, strict=True)):
        if place is None:
            yield spare.get(index)
        else:
            start, end = _window(index, line, places, sound)
            yield Found(start, end, align_words(sound, ways[index], *_rows(start, end)), place.fit)


def _rows(start_s: float, end_s: float) -> tuple[int, int]:
    return max(0, round(start_s / ROW_S)), max(1, round(end_s / ROW_S) + 1)


def _cued(line: GivenLine) -> tuple[float, float] | None:
    return (line.start_s, line.end_s) if line.start_s is not None and line.end_s is not None else None


def _places(lines: Sequence[GivenLine], ways: Sequence[Ways], heard: Sequence[Heard]) -> list[Place | None]:
    """Where each line was heard. Lines with cue times are looked for inside their cues, the rest in what is left, in order."""
    phones = [codes([split_stress(p)[0] for word in w for p in word[0]]) for w in ways]
    places: list[Place | None] = [None] * len(lines)
    for start, end in sorted({cue for line in lines if (cue := _cued(line))}):
        inside = [i for i, h in enumerate(heard) if h.start_s >= start - CUE_SLACK_S and h.end_s <= end + CUE_SLACK_S]
        own = [i for i, line in enumerate(lines) if _cued(line) == (start, end)]
        if inside:
            first = inside[0]
            for i, place in zip(own, place_lines([phones[i] for i in own], heard[first : inside[-1] + 1]), strict=True):
                places[i] = place and replace(place, first=place.first + first, stop=place.stop + first)
    free = [i for i, line in enumerate(lines) if _cued(line) is None]
    for i, place in zip(free, place_lines([phones[i] for i in free], heard), strict=True):
        places[i] = place
    return places


def _window(index: int, line: GivenLine, places: Sequence[Place | None], sound: Listened) -> tuple[float, float]:
    """The seconds of sound that a placed line is aligned in."""
    place, heard = places[index], sound.heard
    assert place is not None
    first, last = heard[place.first], heard[place.stop - 1]
    others = [p for i, p in enumerate(places) if p is not None and i != index]
    before = [heard[p.stop - 1].end_s for p in others if p.stop <= place.first]
    after = [heard[p.first].start_s for p in others if p.first >= place.stop]
    start = max([0.0, first.start_s - ROOM_S, *before])
    end = min([len(sound.free) * ROW_S, last.end_s + ROOM_S, *after])
    cue = _cued(line)
    if cue:
        start, end = max(start, cue[0] - CUE_SLACK_S), min(end, cue[1] + CUE_SLACK_S)
    return min(start, first.start_s), max(end, last.end_s)


def _spare(
    lines: Sequence[GivenLine], ways: Sequence[Ways], places: Sequence[Place | None], sound: Listened, wanted: Sequence[int]
) -> dict[int, Found]:
    """Lines of which nothing was heard, aligned all the same in what is left: together where several share a gap, so that they keep their order."""
    found: dict[int, Found] = {}
    for missing, run in groupby(wanted, key=lambda i: places[i] is None):
        group = list(run)
        if not missing:
            continue
        for cue, part in groupby(group, key=lambda i: _cued(lines[i])):
            found |= _together(list(part), cue, ways, places, sound)
    return found


def _together(
    group: Sequence[int], cue: tuple[float, float] | None, ways: Sequence[Ways], places: Sequence[Place | None], sound: Listened
) -> dict[int, Found]:
    start, end = _gap(group, cue, places, sound)
    if not 0 < end - start <= LONGEST_GAP_S:
        return {}
    timed = align_words(sound, [word for i in group for word in ways[i]], *_rows(start, end))
    found, at = {}, 0
    for i in group:
        own = timed[at : at + len(ways[i])] if timed else None
        found[i] = Found(start, end, own)
        at += len(ways[i])
    return found


def _gap(group: Sequence[int], cue: tuple[float, float] | None, places: Sequence[Place | None], sound: Listened) -> tuple[float, float]:
    """Between the placed lines before and after in the order given; within the cue where there is one."""
    length = len(sound.free) * ROW_S
    if cue:
        return max(0.0, cue[0] - CUE_SLACK_S), min(length, cue[1] + CUE_SLACK_S)
    before = [sound.heard[p.stop - 1].end_s for p in places[: group[0]] if p is not None]
    after = [sound.heard[p.first].start_s for p in places[group[-1] + 1 :] if p is not None]
    start, end = max(before, default=0.0), min(after, default=length)
    return (start, end) if start < end else (0.0, 0.0)
