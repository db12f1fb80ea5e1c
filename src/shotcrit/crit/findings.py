"""What becomes of findings: taken, dismissed with a reason, reworded; and how a finding is known again on another day or another take."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from hashlib import sha256
from typing import Literal

from shotcrit.checks.finding import Finding
from shotcrit.crit.edits import Change, Edit, make, unmake, update
from shotcrit.crit.notes import write_note
from shotcrit.crit.records import MOST_TEXT, Decision, Marker, Note, Numbers, Rewording, Sighting, Take
from shotcrit.crit.view import View, need

KEY_DIGITS = 16
"""Hexadecimal digits of a key: a shot has some hundred findings, two alike are out of the question."""
WORSE_BY = 0.1
"""A dismissed finding comes back when it lies this part further past its limit than it did (guess: a tenth is seen, less is noise)."""
WORSE_FRAMES = 1.0
"""... and, where it counts frames, at least one frame further."""
MARKER_REACH_S = 0.5
"""Seconds round a marker in which findings count as lying under it (guess: what is left of the reaction time's own scatter)."""
FrameMap = Callable[[int], int | None]
"""From a frame of the take where a decision was made to the frame of the take looked at; None where that frame is gone."""
State = Literal["open", "edited", "taken", "dismissed"]


@dataclass(frozen=True)
class Judged:
    """A finding with what the reviewer made of it. worse: it was dismissed, and lies further past its limit than it did then."""

    key: str
    finding: Finding
    decision: Decision | None
    state: State
    worse: bool = False


def finding_key(finding: Finding) -> str:
    """Names a finding by its check, kind, person and frames, which are the same on every measurement; see finding_keys for those that share them."""
    parts = (finding.check, finding.kind, finding.who or "", str(finding.span.start), str(finding.span.last))
    return sha256("\x1f".join(parts).encode()).hexdigest()[:KEY_DIGITS]


def finding_keys(findings: Sequence[Finding]) -> tuple[str, ...]:
    """The key of each, no two alike. Twins (two lines of one speaker, neither spoken) are told apart by what they say, and take numbers in its order,
    so that the same findings have the same keys on every measurement, in whatever order they come.
    """
    twins: dict[str, list[int]] = {}
    for i in sorted(range(len(findings)), key=lambda i: (findings[i].says, findings[i].value, i)):
        twins.setdefault(finding_key(findings[i]), []).append(i)
    named = {i: key if n == 0 else _numbered(key, n) for key, alike in twins.items() for n, i in enumerate(alike)}
    return tuple(named[i] for i in range(len(findings)))


def _numbered(key: str, number: int) -> str:
    return sha256(f"{key}\x1f{number}".encode()).hexdigest()[:KEY_DIGITS]


def sighting(finding: Finding, take: str) -> Sighting:
    """What is kept of a finding to know it again."""
    return Sighting(
        take=take,
        first=finding.span.start,
        last=finding.span.last,
        check=finding.check,
        kind=finding.kind,
        who=finding.who,
        value=finding.value,
        unit=finding.unit,
        limit=finding.limit,
        says=finding.says[:MOST_TEXT],
    )


def past_limit(value: float, limit: float) -> float:
    """How far a value lies from its limit, whichever side is the bad one; signs (early, late) count by their size."""
    return abs(abs(value) - abs(limit))


def got_worse(seen: Sighting, finding: Finding) -> bool:
    """Whether a finding lies clearly further past its limit than when it was decided on, or past it on the other side."""
    if seen.value * finding.value < 0:
        return True
    margin = WORSE_BY * max(abs(seen.value), abs(seen.limit))
    if finding.unit.startswith("frame"):
        margin = max(margin, WORSE_FRAMES)
    return past_limit(finding.value, finding.limit) >= past_limit(seen.value, seen.limit) + margin and finding.value != seen.value


def shared_frames(seen: Sighting, finding: Finding, frames: FrameMap) -> int:
    """How many frames a past sighting and a finding share, after carrying the sighting over to the finding's take."""
    there = {new for old in range(seen.first, seen.last + 1) if (new := frames(old)) is not None}
    return sum(1 for frame in finding.span if frame in there)


def judged(findings: Iterable[Finding], decisions: Iterable[Decision], take: str, maps: Callable[[str], FrameMap]) -> tuple[Judged, ...]:
    """Each finding with the decision that is about it: same check, kind and person, most frames in common, then the same words; each decision once.

    maps : id of the take of a decision -> how its frames lie in this take
    """
    listed = list(findings)
    pairs = []
    for d in decisions:
        frames = _same if d.finding.take == take else maps(d.finding.take)
        for i, f in enumerate(listed):
            alike = (d.finding.check, d.finding.kind, d.finding.who) == (f.check, f.kind, f.who)
            if alike and (common := shared_frames(d.finding, f, frames)):
                pairs.append((-common, d.finding.says != f.says[:MOST_TEXT], i, d.id, d))
    chosen: dict[int, Decision] = {}
    spent: set[str] = set()
    for _, _, i, name, d in sorted(pairs, key=lambda p: p[:4]):
        if i not in chosen and name not in spent:
            chosen[i] = d
            spent.add(name)
    return tuple(_judge(key, f, chosen.get(i), take) for i, (key, f) in enumerate(zip(finding_keys(listed), listed, strict=True)))


def _same(frame: int) -> int | None:
    return frame


def _judge(key: str, finding: Finding, decision: Decision | None, take: str) -> Judged:
    if decision is None:
        return Judged(key, finding, None, "open")
    if decision.verdict == "edited":
        return Judged(key, finding, decision, "edited")
    if decision.verdict == "taken":
        # A note belongs to one take; on the next the finding is to be judged again, with the old decision at hand.
        return Judged(key, finding, decision, "taken" if decision.finding.take == take else "open")
    worse = got_worse(decision.finding, finding)
    return Judged(key, finding, decision, "open" if worse else "dismissed", worse)


def under_markers(markers: Iterable[Marker], findings: Iterable[Finding], rate: float) -> dict[str, tuple[str, ...]]:
    """Marker id -> keys of the findings within MARKER_REACH_S of it, nearest first. rate: frames per second."""
    listed = list(findings)
    keys = finding_keys(listed)
    return {m.id: tuple(keys[i] for _, i, _ in _near(m, listed, rate)) for m in markers}


def _near(marker: Marker, findings: list[Finding], rate: float) -> list[tuple[int, int, Finding]]:
    near = []
    for i, f in enumerate(findings):
        gap = max(0, f.span.start - marker.frame, marker.frame - f.span.last)
        if gap <= MARKER_REACH_S * rate:
            near.append((gap, i, f))
    return sorted(near, key=lambda entry: entry[:2])


def take_finding(view: View, item: Judged, note: Note, decision_id: str, *, after: str | None = None) -> Edit:
    """Make `note` of a finding (see `note_from`), and remember that it was taken."""
    take = need(view, Take, note.take)
    written = write_note(view, note, after=after, label="take a finding")
    return Edit(written.label, (*written.changes, *_decide(item, take, decision_id, {"verdict": "taken", "note": note.id})))


def note_from(item: Judged, take: Take, note_id: str) -> Note:
    """The note that a finding proposes, in the reviewer's rewording where there is one."""
    finding, words = item.finding, item.decision.rewording if item.decision else Rewording()
    return Note(
        id=note_id,
        take=take.id,
        first=finding.span.start if words.first is None else words.first,
        last=finding.span.last if words.last is None else words.last,
        who=finding.who,
        weight=words.weight or finding.weight,
        what=finding.says if words.says is None else words.says,
        suggest=finding.suggest if words.suggest is None else words.suggest,
        finding=item.key,
        numbers=Numbers(value=finding.value, unit=finding.unit, limit=finding.limit, basis=finding.basis),
    )


def dismiss_finding(view: View, item: Judged, take_id: str, decision_id: str, reason: str) -> Edit:
    """Put a finding away with a reason."""
    take = need(view, Take, take_id)
    return Edit("dismiss a finding", _decide(item, take, decision_id, {"verdict": "dismissed", "reason": reason, "note": None}))


def reword_finding(view: View, item: Judged, take_id: str, decision_id: str, words: Rewording) -> Edit:
    """Change a finding's wording, weight or frames before it is taken."""
    take = need(view, Take, take_id)
    fields = {"verdict": "edited", "rewording": words.model_dump(mode="json", by_alias=True), "note": None}
    return Edit("reword a finding", _decide(item, take, decision_id, fields))


def restore_finding(view: View, item: Judged, take_id: str) -> Edit:
    """Forget what was decided, so that the finding is open again. A note made of it stays."""
    need(view, Take, take_id)
    return Edit("bring a finding back", () if item.decision is None else (unmake(item.decision),))


def _decide(item: Judged, take: Take, decision_id: str, fields: Mapping[str, object]) -> tuple[Change, ...]:
    seen = sighting(item.finding, take.id)
    if item.decision is None:
        blank = Decision(id=decision_id, shot=take.shot, finding=seen, verdict="edited")
        return (make(blank.model_validate({**blank.model_dump(by_alias=True), **fields})),)
    return update(item.decision, {**fields, "finding": seen.model_dump(mode="json")})
