"""What may be said of a mouth on a face that was found and that nobody confirmed, and what of such faces was not read."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace

from shotcrit.checks.finding import Finding, NotMeasured
from shotcrit.clock import Span
from shotcrit.readings.bundle import Readings
from shotcrit.readings.faces import FoundFace
from shotcrit.readings.speech import speakers, speeches

FOUND = 1.5
"""Level of a mouth that was found with nobody's help."""
TOLD = frozenset({"offset", "closure", "dead_mouth", "flutter"})
"""Kinds that a found mouth bears witness to: when it opens and shuts, and whether it does. Width and the lip on the teeth are not read so finely."""
MOST_NAMED = 3
"""Stretches and faces that are named one by one."""
KNOWN = 0.25
"""Part of a line on which a face is read that may be the speaker's, from which on the line is not spoken of (guess)."""
FEWEST = 24
"""Frames that a face without a name is seen for, to be spoken of."""


def of_found_face(judged: Iterable[object], who: str) -> Iterator[Finding]:
    """The findings that such a mouth allows, each with what it takes for granted. A mouth that follows other things than this line is judged by none."""
    told = [one for one in judged if isinstance(one, Finding)]
    strange = {one.span for one in told if one.kind in ("unrelated", "loudness")}
    for one in told:
        if one.kind in TOLD and one.span not in strange:
            yield replace(one, rests_on=(*one.rests_on, f"the face that was found there is {who}'s"))


def unread(readings: Readings) -> Iterator[NotMeasured]:
    """Where a face is seen and its mouth is not known, by name; and faces whose name nothing tells, while somebody speaks."""
    for who, why, spans in _stretches(readings):
        where = " and ".join(readings.numbering.text(span) for span in spans[:MOST_NAMED]) + (
            f" and {len(spans) - MOST_NAMED} stretches more" if len(spans) > MOST_NAMED else ""
        )
        yield NotMeasured("lipsync", who, f"marks placed by hand where {who or 'a face'} is {why}, {where}")
    if readings.sound is None or not readings.sound.phones:
        return
    unnamed = [face for face in readings.faces if face.who is None and face.read.sum() >= FEWEST]
    if unnamed:
        where = " and ".join(_place(readings, face) for face in unnamed[:MOST_NAMED])
        where += f" and {len(unnamed) - MOST_NAMED} more" if len(unnamed) > MOST_NAMED else ""
        whose, them = ("whose face this is", "it") if len(unnamed) == 1 else ("whose faces these are", "them")
        yield NotMeasured("lipsync", None, f"to be told {whose}: {where}; no line fits surely, so nobody is judged by {them}")


def unfound(readings: Readings) -> Iterator[NotMeasured]:
    """Who speaks where no face was found to be theirs, by name, with the frames; nobody of whom marks or a scene tell, or whom `unread` names there."""
    if not readings.faces:
        return
    told = {actor.who for actor in readings.acting if actor.level > FOUND}
    marked = {person.name for person in readings.cast.characters} if readings.cast else set()
    for who in (name for name in speakers(readings) if name not in told | marked):
        spans = [speech.span for speech in speeches(readings, who, ()) if _nobody(readings, who, speech.span)]
        if spans:
            where = " and ".join(readings.numbering.text(span) for span in spans[:MOST_NAMED])
            where += f" and {len(spans) - MOST_NAMED} stretches more" if len(spans) > MOST_NAMED else ""
            yield NotMeasured("lipsync", who, f"marks placed by hand where {who} speaks and no face was found to be theirs, {where}")


def _nobody(readings: Readings, who: str, span: Span) -> bool:
    """Whether on most frames of a line no mouth is read that may be the speaker's, and nothing else says so."""
    taken = 0
    for face in readings.faces:
        if face.who in (who, None):
            taken += sum(bool(face.read[i - face.span.start]) for i in range(span.start, span.stop) if i in face.span)
            if face.who == who and any(part.span.overlap(span) is not None for part in face.unread):
                return False
    return taken < KNOWN * len(span)


def _stretches(readings: Readings) -> Iterator[tuple[str | None, str, list[Span]]]:
    """Who, why and where, together by who and why; only of people whose mouth no mark and no scene tells there."""
    known = {actor.who for actor in readings.acting if actor.level > FOUND and actor.mouth is not None}
    found: dict[tuple[str | None, str], list[Span]] = {}
    for face in readings.faces:
        if face.who is not None and face.who not in known:
            for part in face.unread:
                found.setdefault((face.who, part.why), []).append(part.span)
    for (who, why), spans in found.items():
        yield who, why, spans


def _place(readings: Readings, face: FoundFace) -> str:
    middle = float(face.middle[face.read, 0].mean())
    side = "screen left" if middle < 0.4 else "screen right" if middle > 0.6 else "in the middle"
    return f"the face {side} in {readings.numbering.text(face.span)}"
