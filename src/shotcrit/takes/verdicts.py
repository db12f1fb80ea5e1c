"""What became of what was found and asked on the old take: each measured again at its new frames. Only the reviewer closes anything."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Literal

from shotcrit.checks.finding import Finding
from shotcrit.checks.measured import Measured
from shotcrit.clock import Span
from shotcrit.crit.findings import finding_keys, judged
from shotcrit.crit.records import Decision, Drawing, Note
from shotcrit.crit.records import Weight as NoteWeight
from shotcrit.takes.again import Again, measured_again
from shotcrit.takes.change import ChangeMap
from shotcrit.takes.frame_map import FrameMap
from shotcrit.takes.places import Places
from shotcrit.takes.words import asked_says, finding_says

VerdictWord = Literal["moved", "unchanged", "worse", "cannot tell"]
ORDER: tuple[str, ...] = ("worse", "cannot tell", "unchanged", "moved")


@dataclass(frozen=True)
class Sighted:
    """Where, and how much. span : frame indices of its take; value : None where no number stands behind it, or it was not found"""

    span: Span
    value: float | None


@dataclass(frozen=True)
class Verdict:
    """What became of one note or finding.

    note : id of the note it is about; None for a finding that nobody made a note of
    check, kind, who : of the finding behind it; '' where none stands behind a note
    old : on the old take; new : on the new one; None where its frames are gone
    says : one or two sentences for people; weight : must, polish or keep
    limit, unit : what the values were held against, and what they count; None where no check stands behind it
    asked : what the note says, empty for a finding
    finding, again : the finding on the old take and on the new one, where there is one
    confidence : 0..1 that the new frames are the old ones
    """

    note: str | None
    check: str
    kind: str
    who: str | None
    old: Sighted
    new: Sighted | None
    verdict: VerdictWord
    says: str
    weight: NoteWeight
    limit: float | None = None
    unit: str = ""
    asked: str = ""
    finding: Finding | None = field(default=None, compare=False)
    again: Finding | None = field(default=None, compare=False)
    confidence: float = 0.0


@dataclass(frozen=True)
class Followed:
    """The whole answer: two takes, how their frames belong together, where the picture changed, and a verdict for each note and finding.

    verdicts : praise that is no longer as it was first, then by weight, then by frame
    new_findings : what the new take has and the old one had not; remarks : sentences on the takes as wholes
    changes : None where takes were lined up by sound alone
    """

    old: Measured
    new: Measured
    map: FrameMap
    changes: ChangeMap | None
    verdicts: tuple[Verdict, ...]
    new_findings: tuple[Finding, ...]
    remarks: tuple[str, ...] = ()


@dataclass(frozen=True)
class Asked:
    """What a crit asks of the old take: its notes with their drawings, what was decided on its findings, and its id."""

    notes: Sequence[Note] = ()
    drawings: Mapping[str, Drawing] = field(default_factory=dict)
    decisions: Sequence[Decision] = ()
    take: str = ""

    def away(self, findings: Sequence[Finding]) -> frozenset[str]:
        """Keys of the findings that were put away on this take."""
        items = judged(findings, self.decisions, self.take, lambda _take: lambda _frame: None)
        return frozenset(item.key for item in items if item.state == "dismissed")


def follow(
    old: Measured,
    new: Measured,
    lined_up: FrameMap,
    changes: ChangeMap | None,
    asked: Asked | None = None,
    remarks: Sequence[str] = (),
    *,
    doubtful: frozenset[tuple[str, str]] = frozenset(),
) -> Followed:
    """Verdicts on all that was found on the old take and asked of it. Pure: nothing is measured here, and nothing closed.

    doubtful : whose marks of which part have to be confirmed on the new take (carry.py); what rests on them alone is not judged
    """
    places = Places(old.readings, lined_up, changes, float(old.readings.clock.rate / new.readings.clock.rate), doubtful)
    wanted = asked or Asked()
    known = dict(zip(finding_keys(old.findings), old.findings, strict=True))
    away = wanted.away(old.findings)
    found: list[Verdict] = []
    spoken: set[str] = set()
    for note in wanted.notes:
        behind = known.get(note.finding) if note.finding else None
        if behind is not None and note.finding:
            spoken.add(note.finding)
        found.append(_of_note(note, behind, new, places, wanted.drawings))
    for key, finding in known.items():
        if key not in spoken and key not in away:
            found.append(_of_finding(finding, measured_again(finding, new, places), places))
    fresh = _new_findings(old, new, places)
    return Followed(old, new, lined_up, changes, tuple(sorted(found, key=_rank)), fresh, tuple(remarks))


def _rank(verdict: Verdict) -> tuple[bool, int, int]:
    """Praise that may be lost first; then what holds the shot back; then by frame."""
    lost = verdict.weight == "keep" and verdict.verdict != "unchanged"
    return not lost, ("must", "polish", "keep").index(verdict.weight), verdict.old.span.start


def _of_finding(finding: Finding, again: Again, places: Places, note: Note | None = None) -> Verdict:
    span = note_span(note) if note else finding.span
    return Verdict(
        note=note.id if note else None,
        check=finding.check,
        kind=finding.kind,
        who=finding.who,
        old=Sighted(span, finding.value),
        new=None if again.span is None else Sighted(again.span, again.value),
        verdict=again.verdict,
        says=finding_says(finding, again),
        weight=note.weight if note else finding.weight,
        limit=finding.limit,
        unit=finding.unit,
        asked=note.what if note else "",
        finding=finding,
        again=again.finding,
        confidence=places.sure(again.span),
    )


def note_span(note: Note) -> Span:
    """A note's frames, indices of its take."""
    return Span(note.first, note.last + 1)


def _of_note(note: Note, behind: Finding | None, new: Measured, places: Places, drawings: Mapping[str, Drawing]) -> Verdict:
    if behind is not None:
        return _of_finding(behind, measured_again(behind, new, places), places, note)
    span = note_span(note)
    there = places.new_span(span)
    box = places.drawn([drawings[name] for name in note.drawings if name in drawings]) or places.person(note.who, span)
    touched = there is not None and places.touched(there, box)
    retimed = places.retimed(span, there)
    word: VerdictWord = "cannot tell"
    if there is None:
        word = "worse" if note.weight == "keep" else "cannot tell"
    elif not touched and not retimed:
        word = "unchanged"
    says = asked_says(note.weight, there is None, touched, retimed, places.lengths(span, there), by_picture=places.changes is not None)
    return Verdict(
        note.id, "", "", note.who, Sighted(span, None), None if there is None else Sighted(there, None), word, says, note.weight,
        asked=note.what, confidence=places.sure(there),
    )  # fmt: skip


def _new_findings(old: Measured, new: Measured, places: Places) -> tuple[Finding, ...]:
    """What was found on the new take and has no counterpart on the old, where anything is otherwise than it was."""
    return tuple(f for f in new.findings if not any(places.same_thing(was, f) for was in old.findings) and places.may_be_new(f))
