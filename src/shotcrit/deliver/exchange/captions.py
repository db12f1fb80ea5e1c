"""WebVTT for players: what is said, the notes, and chapters from note to note. Times are thousandths of a second, inside their frames."""

from __future__ import annotations

from fractions import Fraction
from itertools import groupby, pairwise
from math import ceil, floor

from shotcrit.clock import Span
from shotcrit.deliver.crit_input import CritForDelivery, NoteForDelivery, headline
from shotcrit.deliver.exchange.counting import Counting
from shotcrit.deliver.exchange.format import Format, Made, counting, lost
from shotcrit.errors import InputError
from shotcrit.readings.events import Word

HOLDS = "Seconds to a thousandth, which lie inside the right frames; first frame, rate and time code in words at its head. No drawings."


def words_vtt(crit: CritForDelivery) -> Made:
    """A cue a speech, with who says it and when each word begins. Raises InputError where nothing was said."""
    sound = crit.measured.readings.sound
    words = [word for word in sound.words if word.end_s > 0] if sound else []
    if not words:
        raise InputError(f"nothing that is said is known of {crit.shot}; give the lines, or leave words-vtt out")
    cues = [_speech(list(own)) for _, own in groupby(sorted(words, key=lambda w: (w.line, w.start_s)), key=lambda w: w.line)]
    return Made({"words.vtt": _file(crit, sorted(cues))})


def notes_vtt(crit: CritForDelivery) -> Made:
    """A cue a note; where notes overlap, so do their cues."""
    count = counting(crit)
    cues = [_note(number, one, count) for number, one in enumerate(crit.notes, start=1)]
    return Made({"notes.vtt": _file(crit, sorted(cues))}, lost(crit, "A file of captions"))


def chapters_vtt(crit: CritForDelivery) -> Made:
    """A chapter from each note to the next, so that a player can step from one to the other."""
    count = counting(crit)
    starts = {first: " / ".join(headline(one) for one in own) for first, own in groupby(sorted(crit.notes, key=_first), key=_first)}
    starts = {0: crit.shot, **starts} if 0 not in starts else starts
    edges = [*sorted(starts), len(count.clock)]
    cues = [_cue("", *count.seconds(Span(a, b)), escaped(starts[a])) for a, b in pairwise(edges)]
    return Made({"chapters.vtt": _file(crit, cues)}, lost(crit, "A list of chapters"))


def _first(one: NoteForDelivery) -> int:
    return one.first


Cue = tuple[str, str]
"""When it begins, for sorting, and the cue as text."""


def _file(crit: CritForDelivery, cues: list[Cue]) -> bytes:
    about = escaped(f"{crit.shot} {crit.take_label}: {counting(crit).about()}")
    return "\n\n".join(["WEBVTT", f"NOTE {about}", *(text for _, text in cues)]).encode() + b"\n"


def _cue(name: str, start: Fraction, stop: Fraction, text: str) -> Cue:
    """Times rounded into the stretch, so that no reader lands on the frame before or after. A stretch under a thousandth is given one."""
    first = ceil(max(Fraction(0), start) * 1000)
    last = max(first + 1, floor(stop * 1000))
    return stamp(first), "\n".join(part for part in (name, f"{stamp(first)} --> {stamp(last)}", text) if part)


def stamp(thousandths: int) -> str:
    """'00:00:01.875' (WebVTT, section 4.1: WebVTT timestamp)."""
    seconds, rest = divmod(thousandths, 1000)
    return f"{seconds // 3600:02d}:{seconds // 60 % 60:02d}:{seconds % 60:02d}.{rest:03d}"


def escaped(text: str) -> str:
    """Text that ends no cue and begins no tag: no empty lines, no arrows, no angle brackets."""
    plain = text.replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;")
    return "\n".join(line for line in plain.splitlines() if line.strip())


def _speech(words: list[Word]) -> Cue:
    """'<v Oona>But <00:00:01.200>you': every word but the first with its own time (WebVTT, section 4.2.2: cue timestamps rise within the cue)."""
    start, stop = _exact(words[0].start_s), max(_exact(w.end_s) for w in words)
    said, before = [escaped(words[0].text)], ceil(max(Fraction(0), start) * 1000)
    for word in words[1:]:
        at = ceil(_exact(word.start_s) * 1000)
        said.append((f"<{stamp(at)}>" if before < at < floor(stop * 1000) else "") + escaped(word.text))
        before = max(before, at)
    who = escaped(words[0].who or "").replace("\n", " ")
    return _cue("", start, stop, (f"<v {who}>" if who else "") + " ".join(said))


def _exact(seconds: float) -> Fraction:
    """To a millionth: a frame's edge that was stored as a float is that edge again."""
    return Fraction(round(seconds * 1_000_000), 1_000_000)


def _note(number: int, one: NoteForDelivery, count: Counting) -> Cue:
    head = f"{one.weight}, {one.who}: {one.what}" if one.who else f"{one.weight}: {one.what}"
    parts = [head, f"Why: {one.why}" if one.why else "", f"Try: {one.suggest}" if one.suggest else ""]
    return _cue(f"note {number}, {count.numbering.text(one.span)}", *count.seconds(one.span), escaped("\n".join(parts)))


WORDS = Format("words-vtt", "words as captions", "WebVTT of what is said, by speaker, word by word.", HOLDS, words_vtt)
NOTES = Format("notes-vtt", "notes as captions", "WebVTT of the notes, to be read while the movie runs in a player.", HOLDS, notes_vtt)
CHAPTERS = Format("chapters-vtt", "chapters", "WebVTT chapters, to step from note to note in a player.", HOLDS, chapters_vtt)
