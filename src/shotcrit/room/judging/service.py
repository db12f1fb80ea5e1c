"""Findings in the room: as they stand, and taken, left, reworded or opened again."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from shotcrit.checks.measured import Measured
from shotcrit.checks.registry import name_of
from shotcrit.crit import findings as acts
from shotcrit.crit.edits import Edit
from shotcrit.crit.findings import FrameMap, Judged
from shotcrit.crit.ids import new_id
from shotcrit.crit.records import Decision, Marker, Note, Rewording, Take
from shotcrit.crit.review import decided
from shotcrit.crit.view import NotHere, View, need
from shotcrit.deliver.plan_svg import plans_svg
from shotcrit.room.edits import Edits, done, given
from shotcrit.room.frames.service import Frames
from shotcrit.room.judging.granted import cast_counted_from, taken_for_granted
from shotcrit.room.judging.shapes import NotMeasuredHere, TakeFinding, Tray
from shotcrit.room.judging.tray import tray_finding
from shotcrit.room.measured.service import Measurements
from shotcrit.room.shapes import Done
from shotcrit.room.takes.lined import LinedTakes
from shotcrit.store.views import SessionView


@dataclass(frozen=True)
class Judgement:
    """The findings of a take as they stand: measured with the corrections, and with what the reviewer made of them."""

    take: Take
    measured: Measured | None
    items: tuple[Judged, ...]
    markers: tuple[Marker, ...]

    def item(self, key: str) -> Judged:
        """Raises NotHere when no finding has this key."""
        found = next((item for item in self.items if item.key == key), None)
        if found is None:
            raise NotHere("there is no such finding any more; the take was measured again or corrected since")
        return found


class Judging:
    def __init__(self, edits: Edits, measurements: Measurements, frames: Frames, lined: LinedTakes) -> None:
        self._edits = edits
        self._measurements = measurements
        self._frames = frames
        self._lined = lined

    def judgement(self, take_id: str, view: SessionView | None = None) -> Judgement:
        """view: the moment to judge at; None for now."""
        if view is None:
            with self._edits.view() as own:
                return self.judgement(take_id, own)
        take = need(view, Take, take_id)
        measured = self._measurements.current(view, take)
        found = measured.findings if measured else ()
        items = acts.judged(found, decided(view, take.shot), take_id, lambda old: self._frames_from(view, old, take))
        return Judgement(take, measured, items, view.all(Marker, take=take_id))

    def under_markers(self, judged: Judgement) -> dict[str, tuple[str, ...]]:
        """Marker id -> keys of the findings that lie under it, nearest first."""
        rate = float(self._frames.clock(judged.take).rate)
        return acts.under_markers(judged.markers, [item.finding for item in judged.items], rate)

    # What the page shows

    def tray(self, take_id: str) -> Tray:
        judged = self.judgement(take_id)
        under = self.under_markers(judged)
        missing = judged.measured.not_measured if judged.measured else ()
        return Tray(
            take=take_id,
            measured=judged.measured is not None,
            findings=[tray_finding(item, [m for m, keys in under.items() if item.key in keys]) for item in judged.items],
            not_measured=[NotMeasuredHere(check=m.check, title=name_of(m.check), who=m.who, needs=m.needs) for m in missing],
            assumed=taken_for_granted(judged.take, judged.measured),
            cast_counted_from=cast_counted_from(judged.take),
        )

    def plan(self, take_id: str, key: str) -> str:
        """SVG of a finding's plans. Raises NotHere when it has none."""
        finding = self.judgement(take_id).item(key).finding
        drawn = plans_svg(finding.plans, finding.says, alone=True)
        if not drawn:
            raise NotHere("this finding has no plan; a scene with cameras gives one")
        return drawn

    # What the reviewer makes of it

    def take(self, take_id: str, key: str, body: TakeFinding, who: str) -> Note:
        """Make a note of a finding."""
        note_id, fields = new_id(), given(body)
        after = fields.pop("after", None)

        def act(view: SessionView) -> Edit:
            judged = self.judgement(take_id, view)
            item = judged.item(key)
            note = acts.note_from(item, judged.take, note_id)
            chosen = {name: value for name, value in fields.items() if value is not None}
            return acts.take_finding(view, item, Note.model_validate({**note.model_dump(by_alias=True), **chosen}), new_id(), after=after)

        return self._edits.edited(Note, note_id, who, act)

    def dismiss(self, take_id: str, key: str, reason: str, who: str) -> Decision:
        return self._decide(take_id, key, who, lambda view, item, name: acts.dismiss_finding(view, item, take_id, name, reason))

    def reword(self, take_id: str, key: str, words: Rewording, who: str) -> Decision:
        return self._decide(take_id, key, who, lambda view, item, name: acts.reword_finding(view, item, take_id, name, words))

    def restore(self, take_id: str, key: str, who: str) -> Done:
        """Open a finding again."""
        return done(self._edits.store(who, lambda view: acts.restore_finding(view, self.judgement(take_id, view).item(key), take_id)))

    def _decide(self, take_id: str, key: str, who: str, edit: Callable[[SessionView, Judged, str], Edit]) -> Decision:
        chosen: list[str] = []

        def act(view: SessionView) -> Edit:
            item = self.judgement(take_id, view).item(key)
            chosen[:] = [item.decision.id if item.decision else new_id()]
            return edit(view, item, chosen[0])

        self._edits.store(who, act)
        return self._edits.get(Decision, chosen[0])

    def _frames_from(self, view: View, old_id: str, take: Take) -> FrameMap:
        """How the frames of an older take lie in this one; by number as long as the two are not lined up."""
        old = view.get(Take, old_id)
        known = self._lined.known(old, take) if old else None
        return known.map if known else lambda frame: frame if frame < take.frames else None
