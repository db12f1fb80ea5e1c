"""What is sent: one take with everything the reviewer took, in the order in which it is to be read."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from shotcrit.checks.measured import Measured
from shotcrit.crit.findings import judged
from shotcrit.crit.notes import in_order
from shotcrit.crit.records import Decision, Drawing, Note, Shot, Take
from shotcrit.crit.unreleased import unreleased_line
from shotcrit.crit.view import View, need


@dataclass(frozen=True)
class Review:
    """A crit on one take. notes: by rising place, praise among them; drawings: those of the notes, by id; one_thing: what matters most.

    crit_id : goes out with the page and comes back with the animator's answers
    unreleased : the reviewer's line about unreleased pictures; empty for none
    """

    crit_id: str
    shot: Shot
    take: Take
    notes: tuple[Note, ...]
    drawings: Mapping[str, Drawing] = field(default_factory=dict)
    one_thing: Note | None = None
    reviewer: str = ""
    unreleased: str = ""

    @property
    def praise(self) -> tuple[Note, ...]:
        """What must not get lost."""
        return tuple(note for note in self.notes if note.weight == "keep")


def review_of(view: View, take_id: str, *, crit_id: str, reviewer: str) -> Review:
    """The review of a take as it stands: only what the reviewer took or wrote. Closed notes are done with and stay at home."""
    take = need(view, Take, take_id)
    notes = tuple(note for note in in_order(view, take_id) if not note.closed)
    shown = {d.id: d for d in view.all(Drawing, take=take_id)}
    wanted = {name: shown[name] for note in notes for name in note.drawings if name in shown}
    return Review(
        crit_id=crit_id,
        shot=need(view, Shot, take.shot),
        take=take,
        notes=notes,
        drawings=wanted,
        one_thing=next((note for note in notes if note.id == take.one_thing), None),
        reviewer=reviewer,
        unreleased=unreleased_line(view),
    )


def for_animator(measured: Measured, review: Review) -> Measured:
    """What goes to an animator: all that was read, and of the findings those alone that the review's notes came of.

    What could not be measured is the reviewer's business too.
    """
    taken = {note.finding for note in review.notes}
    items = judged(measured.findings, (), review.take.id, lambda _take: lambda _frame: None)
    return replace(measured, findings=tuple(item.finding for item in items if item.key in taken), not_measured=())


def decided(view: View, shot_id: str) -> tuple[Decision, ...]:
    """All decisions on a shot."""
    return tuple(d for d in view.all(Decision) if d.shot == shot_id)
