"""What was asked on older takes, beside the newer one, at the frames where it lies there; and what the reviewer says to each."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from shotcrit.crit.asked import How, There, asked_before, asked_on, older_takes, settle
from shotcrit.crit.edits import Edit
from shotcrit.crit.findings import finding_keys
from shotcrit.crit.notes import held
from shotcrit.crit.records import Drawing, Note, Stroke, Take
from shotcrit.crit.review import decided
from shotcrit.crit.view import View, need
from shotcrit.measuring.lined_takes import LinedUp
from shotcrit.readings.seen import Box
from shotcrit.room.edits import Edits
from shotcrit.room.measured.service import Measurements
from shotcrit.room.takes.lined import LinedTakes
from shotcrit.room.takes.lined_shapes import lined_take
from shotcrit.room.takes.media import MediaPlaces
from shotcrit.room.takes.shapes import Asked, AskedNote, LinedTake, SettleNote
from shotcrit.store.views import SessionView
from shotcrit.takes import verdicts
from shotcrit.takes.carry import still_doubtful
from shotcrit.takes.frame_map import FrameMap
from shotcrit.takes.seen import Sight, framed_box


@dataclass(frozen=True)
class _Pair:
    """An older take beside the newer one.

    says : what checks and the map of change say to its notes, by the note's id; fresh : keys of what was found on the newer take alone
    """

    old: Take
    lined_up: LinedUp | None
    refused: str
    says: Mapping[str, verdicts.Verdict] = field(default_factory=dict)
    fresh: tuple[str, ...] = ()


class AskedBefore:
    def __init__(self, edits: Edits, measurements: Measurements, media: MediaPlaces, lined: LinedTakes) -> None:
        self._edits = edits
        self._measurements = measurements
        self._media = media
        self._lined = lined

    def listed(self, take_id: str) -> Asked:
        """Asking begins to line the takes up, once the newer one is measured."""
        with self._edits.view() as view:
            take = need(view, Take, take_id)
            notes = asked_before(view, take)
            olds = _older(view, take, notes)
            pairs = {old.id: self._pair(view, old, take, notes) for old in olds}
            listed = sorted((_asked(view, note, take, pairs[note.take]) for note in notes), key=_not_lost)
        waiting = [pair.old for pair in pairs.values() if pair.lined_up is None and not pair.refused]
        says = next((pair.refused for pair in pairs.values() if pair.refused), "")
        if waiting and not says:
            says = self._begin(waiting, take)
        arrived = take.arrival.says if take.arrival else ""
        remarks = [said for pair in pairs.values() if pair.lined_up for said in pair.lined_up.remarks]
        fresh = list(pairs[olds[-1].id].fresh) if olds else []
        return Asked(
            take=take_id, lined_up=not waiting and not says, says=says, arrived=arrived, remarks=remarks, notes=listed, new_findings=fresh
        )

    def older(self, take_id: str) -> list[LinedTake]:
        """The older takes that are lined up with this one, the newest first."""
        with self._edits.view() as view:
            take = need(view, Take, take_id)
            olds = older_takes(view, take)
        return [lined_take(old, take, known) for old in reversed(olds) if (known := self._lined.known(old, take))]

    def settle(self, take_id: str, note_id: str, body: SettleNote, who: str) -> Note:
        def act(view: SessionView) -> Edit:
            take, note = need(view, Take, take_id), need(view, Note, note_id)
            return settle(view, note_id, take_id, body.how, self._there(view, note, take, body.how))

        return self._edits.edited(Note, note_id, who, act, base=body.version)

    def _begin(self, olds: list[Take], take: Take) -> str:
        """Order the lining up where it can be done; a sentence on what it waits for."""
        for one in (*olds, take):
            place = self._media.state(one)
            if place.state != "here":
                return f"the takes cannot be lined up: {place.says}"
        if self._measurements.measured(take) is None:
            return "the takes are lined up once this one is measured"
        self._lined.order(olds, take)
        return "the takes are being lined up"

    def _pair(self, view: SessionView, old: Take, take: Take, notes: tuple[Note, ...]) -> _Pair:
        lined_up = self._lined.known(old, take)
        followed = self._followed(view, old, take, notes, lined_up) if lined_up else None
        if followed is None:
            return _Pair(old, lined_up, self._lined.refused(old, take))
        new = {id(finding) for finding in followed.new_findings}
        found = followed.new.findings
        fresh = tuple(key for key, finding in zip(finding_keys(found), found, strict=True) if id(finding) in new)
        return _Pair(old, lined_up, "", {said.note: said for said in followed.verdicts if said.note}, fresh)

    def _followed(self, view: SessionView, old: Take, take: Take, notes: tuple[Note, ...], lined_up: LinedUp) -> verdicts.Followed | None:
        """None while one of the takes is not measured."""
        was, now = self._measurements.current(view, old), self._measurements.current(view, take)
        if was is None or now is None:
            return None
        asked = verdicts.Asked(
            tuple(note for note in notes if note.take == old.id),
            {d.id: d for d in view.all(Drawing, take=old.id)},
            decided(view, old.shot),
            old.id,
        )
        doubtful = still_doubtful(lined_up.unsure, take.cast)
        return verdicts.follow(was, now, lined_up.map, lined_up.changes, asked, doubtful=doubtful)

    def _there(self, view: View, note: Note, take: Take, how: How | None) -> There | None:
        old = need(view, Take, note.take)
        lined_up = self._lined.known(old, take)
        if how != "again":
            return None
        if lined_up is not None:
            return _there(note, lined_up.map)
        # Two that cannot be lined up are asked by number: the reviewer sees it, and moves the note.
        return _by_number(note, take) if self._lined.refused(old, take) else None


def _older(view: View, take: Take, notes: tuple[Note, ...]) -> list[Take]:
    """Takes that the notes come from, and the one that this one follows, oldest first."""
    wanted = {note.take for note in notes} | ({take.arrival.after} if take.arrival else set())
    return sorted((t for t in view.all(Take) if t.id in wanted and t.id != take.id), key=lambda t: t.number)


def _not_lost(asked: AskedNote) -> bool:
    """Sorts what was praised and is no longer as it was before all else."""
    return not (asked.note.weight == "keep" and (asked.gone or asked.verdict not in (None, "unchanged")))


def _asked(view: View, note: Note, take: Take, pair: _Pair) -> AskedNote:
    lined_up = pair.lined_up
    span = lined_up.map.span(verdicts.note_span(note)) if lined_up else None
    said = pair.says.get(note.id)
    there = _there(note, lined_up.map) if lined_up and span else None
    return AskedNote(
        note=note,
        asked_on=list(asked_on(view, note)),
        first=there.first if there else None,
        last=there.last if there else None,
        still=there.still if there else None,
        sure=None if lined_up is None or span is None else round(min(lined_up.map.sure_of(span), 0.99), 2),
        gone=lined_up is not None and span is None,
        verdict=said.verdict if said else None,
        says=said.says if said else "",
    )


def _there(note: Note, lined_up: FrameMap) -> There:
    """A note whose frames are gone lies on the nearest ones that are there."""
    span = lined_up.span(verdicts.note_span(note))
    first, last = (span.start, span.last) if span else (_nearest(note.first, lined_up),) * 2
    still = lined_up(note.first if note.still is None else note.still)
    sight = lined_up.sight
    framed = (lambda stroke: _framed(stroke, sight)) if sight is not None and sight.reframed else (lambda stroke: stroke)
    return There(first, last, min(max(first, still), last) if still is not None else first, framed)


def _nearest(old: int, lined_up: FrameMap) -> int:
    """The new frame that shows what lay nearest to a frame that is gone."""
    there = [(abs(old - before), new) for before, new in lined_up.pairs() if new is not None]
    return min(there, default=(0, 0))[1]


def _by_number(note: Note, take: Take) -> There:
    last = take.frames - 1
    still = note.first if note.still is None else note.still
    return There(min(note.first, last), min(note.last, last), min(still, last))


def _framed(stroke: Stroke, sight: Sight) -> Stroke:
    """A stroke as it lies on the new picture."""
    points = []
    for x, y, pressure, time_ms in stroke.points:
        at = framed_box(sight, Box(x, y, x, y))
        points.append((held(at.left), held(at.top), pressure, time_ms))
    return stroke.model_copy(update={"points": tuple(points)})
