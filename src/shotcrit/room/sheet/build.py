"""From a measurement and the reviewer's corrections to what the sheet draws."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import asdict

import numpy as np

from shotcrit.checks.finding import Finding
from shotcrit.clock import FrameClock, Span, runs
from shotcrit.crit import corrected
from shotcrit.crit.records import Correction, Take
from shotcrit.readings.acting import Acting, Gaze, MarkTrack, Side
from shotcrit.readings.bundle import PictureReadings, Readings, SoundReadings
from shotcrit.readings.cast import Cast, given_looks
from shotcrit.readings.events import Look
from shotcrit.readings.faces import FoundFace
from shotcrit.readings.picture.faces.proposed import proposed_marks
from shotcrit.room.arrays import edges, packed_floats, packed_wave
from shotcrit.room.sheet.shapes import (
    Followed,
    FollowedTrack,
    Sheet,
    SheetAccent,
    SheetActing,
    SheetBlink,
    SheetBreath,
    SheetCurve,
    SheetCut,
    SheetFace,
    SheetGaze,
    SheetLane,
    SheetLine,
    SheetLook,
    SheetPhone,
    SheetProposed,
    SheetRun,
    SheetSeries,
    SheetStretch,
    SheetTrack,
    SheetTremor,
    SheetWord,
)
from shotcrit.sheet.build import lanes
from shotcrit.sheet.lanes.gazes import eye_lanes
from shotcrit.sheet.model import Curve, Lane

NO_SOUND = SoundReadings()


def build_sheet(
    take: Take, clock: FrameClock, readings: Readings | None, corrections: Sequence[Correction], drawn: Iterable[Lane]
) -> Sheet:
    """The sheet of a take. readings: as measured, without corrections; None before the first measurement. drawn: with them."""
    sound = (readings.sound if readings else None) or NO_SOUND
    picture = readings.picture if readings else None
    said = corrected.words(sound.words, corrections)
    words_now = [c.event for c in said]
    return Sheet(
        take=take.id,
        measured=readings is not None,
        frames=len(clock),
        first_frame=take.first_frame,
        rate=take.rate,
        edges_s=edges(clock),
        lines=[SheetLine(**asdict(line)) for line in sound.lines],
        words=[SheetWord(**asdict(c.event), **_frames(clock, c.event.start_s, c.event.end_s), by_hand=c.by) for c in said],
        phones=[
            SheetPhone(**asdict(c.event), **_frames(clock, c.event.start_s, c.event.end_s), by_hand=c.by)
            for c in corrected.phones(sound.phones, corrections, words_now)
        ],
        breaths=[
            SheetBreath(**asdict(c.event), **_frames(clock, c.event.start_s, c.event.end_s), by_hand=c.by)
            for c in corrected.breaths(sound.breaths, corrections)
        ],
        tremors=[SheetTremor(**asdict(tremor)) for tremor in sound.tremors],
        accents=[
            SheetAccent(time_s=a.time_s, frame=clock.frame_at(a.time_s), strength=a.strength, rank=a.rank, word=a.word)
            for a in sound.accents
        ],
        cuts=[SheetCut(frame=c.frame, by_hand=c.by) for c in corrected.cuts(picture.cuts if picture else (), corrections)],
        repeats=_runs(runs(picture.repeats.tolist())) if picture else [],
        movement=_movement(picture),
        wave=packed_wave(sound.wave) if sound.wave.size else None,
        looks=[SheetLook(**asdict(look)) for look in _looks(take, readings, len(clock))],
        blinks=[SheetBlink(**asdict(blink)) for blink in readings.blinks] if readings else [],
        acting=[_acting(a) for a in readings.acting] if readings else [],
        faces=[sheet_face(face) for face in readings.faces] if readings else [],
        lanes=[_lane(lane) for lane in drawn],
    )


def drawn_lanes(take: Take, clock: FrameClock, corrected: Readings | None, findings: Sequence[Finding]) -> tuple[Lane, ...]:
    """What is drawn. corrected: with the reviewer's corrections; findings: those that the reviewer has not left alone."""
    if corrected is not None:
        return lanes(corrected, findings)
    return tuple(eye_lanes(_looks(take, None, len(clock)), (), ()))


def _lane(lane: Lane) -> SheetLane:
    return SheetLane(
        column=lane.column,
        who=lane.who,
        stretches=[SheetStretch(**asdict(stretch)) for stretch in lane.stretches],
        curves=[drawn_curve(curve) for curve in lane.curves],
    )


def drawn_curve(curve: Curve) -> SheetCurve:
    """A curve of the model, packed."""
    packed = packed_wave(curve.values) if curve.values.ndim == 3 else packed_floats(curve.values)
    return SheetCurve(id=curve.id, says=curve.says, first=curve.first, values=packed)


def _looks(take: Take, readings: Readings | None, frames: int) -> list[Look]:
    """Those that people said, as they are now, and those that were proposed; all that were read where the measurement had none from a cast."""
    given = given_looks(take.cast, first_frame=take.first_frame, frames=frames)
    if readings is None:
        return list(given)
    from_cast = readings.cast is not None and bool(readings.cast.looks)
    return [*given, *(look for look in readings.looks if look.proposed or not (given or from_cast))]


def followed(take: Take, tracks: Sequence[MarkTrack]) -> Followed:
    """Tracks that are still being followed, for the page."""
    return Followed(take=take.id, tracks=[FollowedTrack(who=t.who, **_track(t).model_dump()) for t in tracks])


def mark_path(readings: Readings, who: str, mark: str, first: int, last: int) -> dict[int, tuple[float, float]]:
    """Where a mark was on frames first..last, in fractions of the picture, where it is known."""
    actor = readings.actor(who)
    track = actor.marks.get(mark) if actor else None
    if track is None:
        return {}
    xy = track.xy.tolist()
    return {f: (xy[f][0], xy[f][1]) for f in range(first, min(last, len(xy) - 1) + 1) if xy[f][0] == xy[f][0] and xy[f][1] == xy[f][1]}


def placed_frames(cast: Cast, first_frame: int) -> dict[tuple[str, str], list[int]]:
    """(who, mark) -> indices of the frames where a person placed it."""
    return {(m.name, mark): [p.frame - first_frame for p in points] for m in cast.marked for mark, points in m.marks.items()}


def _frames(clock: FrameClock, start_s: float, end_s: float) -> dict[str, int]:
    """First and last frame of an event, both inside; one that lies outside the pictures gets the frame next to it."""
    span = clock.frames(start_s, end_s)
    if span is None:
        nearest = clock.frame_at(start_s)
        return {"first": nearest, "last": nearest}
    return {"first": span.start, "last": span.last}


def _runs(found: Sequence[Span]) -> list[SheetRun]:
    return [SheetRun(first=span.start, last=span.last) for span in found]


def _movement(picture: PictureReadings | None) -> SheetSeries | None:
    if picture is None:
        return None
    return SheetSeries(name=picture.movement.name, unit=picture.movement.unit, values=packed_floats(picture.movement.values))


def _acting(acting: Acting) -> SheetActing:
    return SheetActing(
        who=acting.who,
        level=acting.level,
        series=_series(acting),
        marks=[_track(track) for _, track in sorted(acting.marks.items())],
        gaze=[_gaze(side, gaze) for side, gaze in sorted(acting.gaze.items())],
        lacks=dict(acting.lacks),
        worth=dict(acting.worth),
    )


def _series(acting: Acting) -> list[SheetSeries]:
    found: list[SheetSeries] = []
    if acting.mouth is not None:
        mouth = acting.mouth
        found.append(SheetSeries(name="mouth opening", unit="of mouth width", values=packed_floats(mouth.opening)))
        found.append(SheetSeries(name="mouth opening error", unit="of mouth width", values=packed_floats(mouth.opening_error)))
        found.append(SheetSeries(name="mouth width", unit="of mouth width at rest", values=packed_floats(mouth.width)))
        found.append(SheetSeries(name="lips meet", unit="probability", values=packed_floats(mouth.meets)))
        if mouth.teeth_on_lip is not None:
            found.append(SheetSeries(name="teeth on lip", unit="probability", values=packed_floats(mouth.teeth_on_lip)))
    for side, lids in sorted(acting.lids.items()):
        found.append(SheetSeries(name=f"{side} eye open", unit="of its height", values=packed_floats(lids)))
    return found


def sheet_face(face: FoundFace) -> SheetFace:
    at = int(np.flatnonzero(np.isfinite(face.middle[:, 0]))[0])
    x, y = np.clip(face.middle[at].astype(float), 0, 1).tolist()
    return SheetFace(
        id=face.id, who=face.who, sure=face.sure, said=face.said, first=face.span.start, last=face.span.last,
        middle=packed_floats(face.middle), size=packed_floats(face.size), at=face.span.start + at, point=(round(x, 4), round(y, 4)),
        proposed=[SheetProposed(frame=p.index, shape=p.shape, marks=dict(p.marks)) for p in proposed_marks(face)],
    )  # fmt: skip


def _track(track: MarkTrack) -> SheetTrack:
    return SheetTrack(mark=track.mark, xy=packed_floats(track.xy), error_px=packed_floats(track.error_px), placed=list(track.placed))


def _gaze(side: Side, gaze: Gaze) -> SheetGaze:
    return SheetGaze(
        side=side,
        origin=packed_floats(gaze.origin),
        iris=packed_floats(gaze.iris),
        direction=packed_floats(gaze.direction),
        error_deg=packed_floats(gaze.error_deg),
    )
