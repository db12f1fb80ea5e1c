"""Measurements in the room: the sheet, the findings and what becomes of them, markers, drawings along marks."""

from __future__ import annotations

import threading
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from shotcrit.checks.finding import Curve, Finding, Stroke
from shotcrit.checks.measured import Measured
from shotcrit.checks.registry import column_of, run_checks
from shotcrit.crit import findings as acts
from shotcrit.crit.corrected import corrected_readings
from shotcrit.crit.edits import Edit, make
from shotcrit.crit.findings import FrameMap, Judged
from shotcrit.crit.ids import new_id
from shotcrit.crit.notes import copy_along
from shotcrit.crit.reaction import drawn_back
from shotcrit.crit.review import decided
from shotcrit.crit.things import Correction, Decision, Drawing, Marker, Note, Numbers, Rewording, Take
from shotcrit.crit.view import NotHere, View, need
from shotcrit.deliver.file_name import file_name
from shotcrit.deliver.plan_svg import plans_svg
from shotcrit.elsewhere.near import run_elsewhere
from shotcrit.errors import ShotcritError, Stopped
from shotcrit.progress import Progress
from shotcrit.readings.acting import MarkTrack
from shotcrit.readings.bundle import Readings
from shotcrit.readings.cast import Cast
from shotcrit.readings.sound.textgrid import textgrid_of
from shotcrit.room.base import done
from shotcrit.room.jobs import Ended
from shotcrit.room.pictures import Pictures
from shotcrit.room.settings import settings_of
from shotcrit.room.shapes.common import Done, Job
from shotcrit.room.shapes.events import FollowedEvent, MeasuredEvent
from shotcrit.room.shapes.measured import Sheet
from shotcrit.room.shapes.notes import (
    AlongMark,
    MarkedFindings,
    NewMarker,
    NotMeasuredHere,
    TakeFinding,
    Tray,
    TrayCurve,
    TrayFinding,
    TrayStroke,
)
from shotcrit.room.sheet import build_sheet, drawn_curve, drawn_lanes, mark_path
from shotcrit.room.work import BEHIND, measure_take
from shotcrit.sheet.lanes.beside import evidence
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


class Judging(Pictures):
    # Measuring

    def measure(self, take_id: str) -> Job:
        take, limits = self.take(take_id), self.settings().limits

        def body(watch: Progress, stop: threading.Event) -> Ended:
            playhead, heard = self.playhead(take_id), lambda tracks: self._followed(take_id, tracks)
            try:
                measured: Measured = run_elsewhere(
                    measure_take, self.desk, take, limits, progress=watch, stop=stop, playhead=playhead, heard=heard, bounds=BEHIND
                )
            except Stopped:
                # The paths as far as they go stay in sight until marks are followed again.
                raise
            except BaseException:
                self._followed(take_id, ())
                raise
            self._followed(take_id, ())
            self._remember(take, measured, limits)
            return f"{len(measured.findings)} findings", ()

        running = self.jobs.running("measure", take_id)
        if running is not None and not self.as_ordered(take):
            self.jobs.stop(running.id)
            self.jobs.join(running.id)
        self.memory.orders[take_id] = (take.lines, take.cast, limits)
        return self.jobs.start("measure", take_id, body)

    def as_ordered(self, take: Take) -> bool:
        """Whether what was last ordered to be measured of a take is what its lines, its cast and the limits say now."""
        return self.memory.orders.get(take.id) == (take.lines, take.cast, self.settings().limits)

    def _followed(self, take_id: str, tracks: Sequence[MarkTrack]) -> None:
        """Keep the tracks that are being followed, for pages to fetch."""
        with self._memory:
            before = self.memory.following.pop(take_id, ())
            if tracks:
                self.memory.following[take_id] = tuple(tracks)
        if tracks or before:
            self.events.post(FollowedEvent(take=take_id))

    def _remember(self, take: Take, measured: Measured, limits: dict[str, float]) -> None:
        with self._memory:
            self.memory.measured[take.id] = (measured, limits)
            self.memory.checked.pop(take.id, None)
        self.events.post(MeasuredEvent(take=take.id))

    def measured(self, take: Take) -> Measured | None:
        """The last measurement of a take, as measured. While a new one runs, the one before."""
        with self._memory:
            if take.id not in self.memory.measured:
                limits = self.settings().limits
                found = self.desk.remembered(take, limits)
                if found is None:
                    return None
                self.memory.measured[take.id] = (found, limits)
            return self.memory.measured[take.id][0]

    def corrected(self, take: Take, corrections: Sequence[Correction]) -> Measured | None:
        """The measurement with the corrections put over it, and the checks run again on that by the cast and the limits as they are now.

        Looks and contacts hold at once. Marks that were placed since are followed in the background; until then their old paths are judged.
        """
        measured = self.measured(take)
        limits = self.settings().limits
        if measured is None:
            return None
        said = _as_said(measured.readings.cast, take.cast)
        told = _as_told(measured.readings, said, take)
        if not corrections and told is measured.readings and limits == self.memory.measured[take.id][1]:
            return measured
        key = (
            id(measured),
            tuple((c.id, c.version) for c in corrections),
            tuple(sorted(limits.items())),
            said,
            take.first_frame,
            take.medium,
        )
        with self._memory:
            kept = self.memory.checked.get(take.id)
            if kept is None or kept[0] != key:
                readings = corrected_readings(told, corrections)
                findings, missing = run_checks(readings, limits)
                kept = (key, replace(measured, readings=readings, findings=findings, not_measured=missing))
                self.memory.checked[take.id] = kept
            return kept[1]

    def sheet(self, take_id: str) -> Sheet:
        take, corrections = self.take(take_id), self.corrections(take_id)
        measured = self.measured(take)
        judged = self.judgement(take_id)
        told = [item.finding for item in judged.items if item.state != "dismissed"]
        drawn = drawn_lanes(take, self.clock(take), judged.measured.readings if judged.measured else None, told)
        return build_sheet(take, self.clock(take), measured.readings if measured else None, corrections, drawn)

    def track_reading(self, take_id: str) -> tuple[str, str]:
        """(a file's name, words, phones and breaths as a TextGrid), as they were corrected by hand."""
        judged = self.judgement(take_id)
        take, sound = judged.take, judged.measured.readings.sound if judged.measured else None
        if sound is None or take.sound is None:
            raise NotHere("there is no track reading of this take yet; measure it first, and give it sound")
        text = textgrid_of(sound, take.sound.duration_s, offset_s=take.sound.offset_s)
        return f"{file_name(take.label or 'take')}-{take.number}.TextGrid", text

    # Findings

    def judgement(self, take_id: str, view: SessionView | None = None) -> Judgement:
        if view is None:
            with self.crit.view() as own:
                return self.judgement(take_id, own)
        take = need(view, Take, take_id)
        measured = self.corrected(take, view.all(Correction, take=take_id))
        found = measured.findings if measured else ()
        items = acts.judged(found, decided(view, take.shot), take_id, lambda old: self._frames_from(view, old, take))
        return Judgement(take, measured, items, view.all(Marker, take=take_id))

    def _frames_from(self, view: View, old_id: str, take: Take) -> FrameMap:
        """How the frames of an older take lie in this one; by number where the two cannot be lined up."""
        old = view.get(Take, old_id)
        try:
            table = self.frame_map(old, take) if old else None
        except ShotcritError:
            table = None
        if table is None:
            return lambda frame: frame if frame < take.frames else None
        return lambda frame: table[frame] if frame < len(table) else None

    def frame_map(self, old: Take, new: Take) -> Sequence[int | None]:
        key = (old.sha256, new.sha256)
        with self._memory:
            if key not in self.memory.maps:
                self.memory.maps[key] = self.desk.frame_map(old, new)
            return self.memory.maps[key]

    def tray(self, take_id: str) -> Tray:
        judged = self.judgement(take_id)
        under = self._under(judged)
        missing = judged.measured.not_measured if judged.measured else ()
        return Tray(
            take=take_id,
            measured=judged.measured is not None,
            findings=[_tray_finding(item, [m for m, keys in under.items() if item.key in keys]) for item in judged.items],
            not_measured=[NotMeasuredHere(check=m.check, who=m.who, needs=m.needs) for m in missing],
        )

    def _under(self, judged: Judgement) -> dict[str, tuple[str, ...]]:
        rate = float(self.clock(judged.take).rate)
        return acts.under_markers(judged.markers, [item.finding for item in judged.items], rate)

    def finding_plan(self, take_id: str, key: str) -> str:
        """SVG of a finding's plans. Raises NotHere when it has none."""
        finding = self.judgement(take_id).item(key).finding
        drawn = plans_svg(finding.plans, finding.says, alone=True)
        if not drawn:
            raise NotHere("this finding has no plan; a scene with cameras gives one")
        return drawn

    def take_finding(self, take_id: str, key: str, body: TakeFinding, who: str) -> Note:
        note_id, fields = new_id(), self.fields(body)
        after = fields.pop("after", None)

        def act(view: SessionView) -> Edit:
            judged = self.judgement(take_id, view)
            item = judged.item(key)
            note = acts.note_from(item, judged.take, note_id)
            given = {name: value for name, value in fields.items() if value is not None}
            return acts.take_finding(view, item, Note.model_validate({**note.model_dump(by_alias=True), **given}), new_id(), after=after)

        return self.edited(Note, note_id, who, act)

    def dismiss_finding(self, take_id: str, key: str, reason: str, who: str) -> Decision:
        return self._decide(take_id, key, who, lambda view, item, name: acts.dismiss_finding(view, item, take_id, name, reason))

    def edit_finding(self, take_id: str, key: str, words: Rewording, who: str) -> Decision:
        return self._decide(take_id, key, who, lambda view, item, name: acts.reword_finding(view, item, take_id, name, words))

    def _decide(self, take_id: str, key: str, who: str, edit: Callable[[SessionView, Judged, str], Edit]) -> Decision:
        chosen: list[str] = []

        def act(view: SessionView) -> Edit:
            item = self.judgement(take_id, view).item(key)
            chosen[:] = [item.decision.id if item.decision else new_id()]
            return edit(view, item, chosen[0])

        self.store(who, act)
        with self.crit.view() as view:
            return need(view, Decision, chosen[0])

    def restore_finding(self, take_id: str, key: str, who: str) -> Done:
        return done(self.store(who, lambda view: acts.restore_finding(view, self.judgement(take_id, view).item(key), take_id)))

    # Markers and drawings

    def markers(self, take_id: str) -> list[MarkedFindings]:
        judged = self.judgement(take_id)
        under = self._under(judged)
        return [MarkedFindings(marker=m, findings=list(under[m.id])) for m in sorted(judged.markers, key=lambda m: m.frame)]

    def drop_marker(self, take_id: str, body: NewMarker, who: str) -> Marker:
        clock, marker_id = self.clock(self.take(take_id)), new_id()

        def act(view: SessionView) -> Edit:
            pressed = min(body.pressed, len(clock) - 1)
            frame = drawn_back(pressed, clock, settings_of(view).reaction_ms)
            return Edit("drop a marker", (make(Marker(id=marker_id, take=take_id, pressed=pressed, frame=frame, text=body.text)),))

        return self.edited(Marker, marker_id, who, act)

    def copy_along(self, drawing_id: str, body: AlongMark, who: str) -> list[Drawing]:
        with self.crit.view() as view:
            drawing = need(view, Drawing, drawing_id)
            take = need(view, Take, drawing.take)
        measured = self.measured(take)
        if measured is None:
            raise NotHere("the take is not measured yet, so its marks are not followed; measure it first")
        path = mark_path(measured.readings, body.who, body.mark, min(body.first, drawing.first), max(body.last, drawing.first))
        ids = {frame: new_id() for frame in path if body.first <= frame <= body.last}
        self.store(who, lambda view: copy_along(need(view, Drawing, drawing_id), path, ids))
        made = set(ids.values())
        return [d for d in self.drawings(drawing.take) if d.id in made]


def _as_said(measured: Cast | None, now: Cast) -> Cast | None:
    """The cast to judge by: looks and contacts as they are now. Marks that were placed since count once they are followed."""
    old = measured or Cast()
    if (old.looks, old.contacts) == (now.looks, now.contacts):
        return measured
    names = {part.name for part in old.marked}
    if names >= {part.name for part in now.marked}:
        return old.model_copy(update={"looks": now.looks, "contacts": now.contacts})
    return now


def _as_told(readings: Readings, said: Cast | None, take: Take) -> Readings:
    """The readings with what people said of the take since: its cast, how its frames are counted, how it is made."""
    if said == readings.cast and take.first_frame == readings.movie.first_frame and take.medium == readings.medium:
        return readings
    return replace(readings, cast=said, medium=take.medium, movie=replace(readings.movie, first_frame=take.first_frame))


def _tray_finding(item: Judged, markers: list[str]) -> TrayFinding:
    f, words = item.finding, item.decision.rewording if item.decision else Rewording()
    return TrayFinding(
        key=item.key,
        state=item.state,
        worse=item.worse,
        check=f.check,
        kind=f.kind,
        who=f.who,
        first=f.span.start if words.first is None else words.first,
        last=f.span.last if words.last is None else words.last,
        numbers=_numbers(f),
        weight=words.weight or f.weight,
        confidence=f.confidence,
        level=f.level,
        frames=list(f.frames),
        says=f.says if words.says is None else words.says,
        suggest=f.suggest if words.suggest is None else words.suggest,
        decision=item.decision,
        markers=markers,
        curves=[_curve(curve) for curve in f.curves],
        strokes=[_stroke(stroke) for stroke in f.strokes],
        plan=bool(f.plans),
        column=column_of(f.check),
        evidence=[drawn_curve(drawn) for curve in f.curves for drawn in evidence(curve)],
    )


def _numbers(finding: Finding) -> Numbers:
    return Numbers(value=finding.value, unit=finding.unit, limit=finding.limit, basis=finding.basis)


def _curve(curve: Curve) -> TrayCurve:
    known = [[None if v != v else v for v in values] for values in (curve.seen, curve.wanted)]
    return TrayCurve(name=curve.name, unit=curve.unit, first=curve.first, seen=known[0], wanted=known[1])


def _stroke(stroke: Stroke) -> TrayStroke:
    return TrayStroke(frame=stroke.frame, kind=stroke.kind, points=list(stroke.points), label=stroke.label)
