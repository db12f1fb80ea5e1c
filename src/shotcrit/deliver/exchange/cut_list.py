"""The shots of a take as a cut list (EDL), CMX 3600: one event from cut to cut, source and record alike, notes as comments.

    001  LANTERN0 V     C        00:00:41:17 00:00:45:17 00:00:41:17 00:00:45:17
    * FROM CLIP NAME: lantern_040.mov
    * LOC: 00:00:43:14 RED     MUST OONA: HER LIDS ...

Time code is exact; an event ends where the next begins. The format itself has neither rate nor first frame: both stand in comments. (CMX 3600's own
manual could not be had; the layout is the one that OpenTimelineIO's adapter and pycmx read, both of which read it in the tests.)
"""

from __future__ import annotations

import itertools
import re
import unicodedata

from shotcrit.clock import rate_label
from shotcrit.deliver.crit_input import CritForDelivery, NoteForDelivery
from shotcrit.deliver.exchange.counting import Counting
from shotcrit.deliver.exchange.format import Format, Made, counting, lost
from shotcrit.errors import InputError

MOST_EVENTS = 999
"""An event's number has three digits."""
MADE_FOR = 30
"""Frames a second that the format was made for (from memory: television's 24 to 30)."""
COLOURS = {"must": "RED", "polish": "YELLOW", "keep": "GREEN"}
_TYPED = str.maketrans(
    {"\u2019": "'", "\u2018": "'", "\u201c": '"', "\u201d": '"', "\u2013": "-", "\u2014": "-", "\u2026": "...", "\u00b0": " deg"}
)


def cut_list(crit: CritForDelivery) -> Made:
    """Raises InputError for a sound alone, for a rate that has no time code, and for more shots than it can number."""
    picture, count = crit.measured.readings.picture, counting(crit)
    if picture is None:
        raise InputError(f"{crit.shot} has no pictures, so there are no cuts to list; leave edl out")
    edges = [0, *picture.cuts, len(count.clock)]
    if len(edges) - 1 > MOST_EVENTS:
        raise InputError(f"{crit.shot} has {len(edges) - 1:,} shots, and a cut list numbers {MOST_EVENTS} at most; send otio instead")
    lines = [f"TITLE: {plain(f'{crit.shot} {crit.take_label}')}", f"FCM: {'DROP FRAME' if count.drop else 'NON-DROP FRAME'}", ""]
    for number, (first, stop) in enumerate(itertools.pairwise(edges), start=1):
        lines += _event(number, first, stop, crit, count)
    return Made({"cuts.edl": ("\r\n".join(lines) + "\r\n").encode("ascii")}, _lost(crit, count))


def _event(number: int, first: int, stop: int, crit: CritForDelivery, count: Counting) -> list[str]:
    info = crit.measured.readings.movie
    source, ends = count.need_timecode(first), count.need_timecode(stop)
    reel = re.sub(r"[^A-Z0-9]", "", plain(info.path.stem).upper())[:8] or "TAKE"
    own = [one for one in crit.notes if first <= one.first < stop]
    return [
        f"{number:03d}  {reel:<8} V     C        {source} {ends} {source} {ends}",
        f"* FROM CLIP NAME: {plain(info.path.name)}",
        *([f"* {plain(count.about()).upper()}"] if number == 1 else []),
        *(f"* LOC: {count.need_timecode(one.first)} {COLOURS[one.weight]:<7} {_told(one, count)}" for one in own),
        "",
    ]


def _told(one: NoteForDelivery, count: Counting) -> str:
    where = f"[{count.shown(one.first)} TO {count.shown(one.last)}] " if one.last > one.first else f"[{count.shown(one.first)}] "
    return where + plain(f"{one.weight.upper()}{f' {one.who}' if one.who else ''}: {one.what}")


def plain(text: str) -> str:
    """One line of ASCII: accents taken off, what has no such letter a question mark."""
    bare = unicodedata.normalize("NFKD", " ".join(text.split()).translate(_TYPED))
    kept = "".join(sign for sign in bare if not unicodedata.combining(sign))
    return "".join(sign if " " <= sign <= "~" else "?" for sign in kept)


def _lost(crit: CritForDelivery, count: Counting) -> tuple[str, ...]:
    found = list(lost(crit, "A cut list", times=False))
    if any(one.last > one.first for one in crit.notes):
        found.append("A cut list puts a note on its first frame alone; where it ends stands in words.")
    if any(one.why or one.suggest for one in crit.notes):
        found.append("A cut list has one line a note; why and what to try are left out.")
    if any("?" in plain(one.what) and "?" not in one.what for one in crit.notes):
        found.append("A cut list knows the letters of ASCII alone; others are question marks in it.")
    if count.rate > MADE_FOR:
        found.append(f"A cut list was made for 24 to 30 frames a second; a program may not take one at {rate_label(count.rate)}.")
    return tuple(found)


FORMAT = Format(
    "edl",
    "cut list",
    "An EDL (CMX 3600) of the cuts, notes as comments on their first frames, for editing software.",
    "Time code, drop-frame told apart; rate and first frame in a comment. Of a note its first frame and one line in ASCII. No drawings, no exact rate.",
    cut_list,
)
