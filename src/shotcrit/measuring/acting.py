"""What characters do: faces that were found (level 1.5), followed marks (level 2) and scenes (level 3), the two from the cast."""

from __future__ import annotations

from dataclasses import replace

from shotcrit.measuring.attempts import Attempts
from shotcrit.measuring.followed import Following, followed
from shotcrit.measuring.request import MeasureRequest
from shotcrit.media import Movie
from shotcrit.progress import Progress
from shotcrit.readings.acting import MARKED, Acting
from shotcrit.readings.bundle import Assumed, Readings
from shotcrit.readings.cast import Cast
from shotcrit.readings.frame_times import frame_starts
from shotcrit.readings.looks.propose import looks_of
from shotcrit.readings.picture.acting import blinks_of
from shotcrit.readings.picture.faces.acting import LEVEL, acting_of_faces
from shotcrit.readings.picture.faces.joined import joined_mouth
from shotcrit.readings.picture.faces.named import faces_said, name_faces
from shotcrit.readings.picture.marks.follow import Tell
from shotcrit.readings.scene.acting import acting_from_scene, scene_cameras
from shotcrit.readings.scene.model import Sampling, Scene
from shotcrit.readings.scene.read import read_scene
from shotcrit.readings.scene.report import scene_words
from shotcrit.store.cache import MediumCache


def acting_of(
    readings: Readings,
    request: MeasureRequest,
    movie: Movie,
    kept: MediumCache,
    progress: Progress,
    attempts: Attempts | None = None,
    *,
    tell: Tell | None = None,
) -> Readings:
    """The readings with `acting`, `cameras`, `looks` filled in, as far as cast, marks and scene give them. tell : is given tracks as they are followed"""
    parts = attempts or Attempts()
    if request.scene is not None:
        own = readings
        readings = parts.part("scene", lambda: _with_scene(own, request.cast, read_scene_for(request, movie))) or readings
    readings = _with_faces(readings, request.cast)
    if request.cast is None:
        return readings
    if any(owner.marks for owner in request.cast.marked) and movie.info.width is not None:
        cuts = readings.picture.cuts if readings.picture else ()
        work = Following(movie, cuts, readings.cameras, kept, progress, request.learnt, tell)
        cast = request.cast
        readings = replace(readings, acting=(*readings.acting, *(parts.part("marks", lambda: followed(cast, work)) or ())))
    acted = replace(readings, acting=_best_mouths(readings))
    return parts.part("looks", lambda: _looking(acted)) or acted


def _best_mouths(readings: Readings) -> tuple[Acting, ...]:
    """Without the found mouths of characters whose mouth marks or a scene tell better; those of confirmed faces are taken into what marks tell."""
    better = {actor.who for actor in readings.acting if actor.level > LEVEL and actor.mouth is not None}
    kept = [actor for actor in readings.acting if actor.level > LEVEL or actor.who not in better]
    return tuple(joined_mouth(actor, readings.faces) if actor.level == MARKED else actor for actor in kept)


def _with_faces(readings: Readings, cast: Cast | None) -> Readings:
    """The readings with the faces that were found, named where anything tells their names, and the mouths of those."""
    found = readings.picture.faces if readings.picture else ()
    if not found:
        return readings
    number = readings.numbering
    said = [(number.index(face.frame), face.x, face.y, face.who) for face in (cast.faces if cast else ())]
    faces = name_faces(faces_said(found, said), readings.sound, readings.clock)
    return replace(readings, faces=faces, acting=(*readings.acting, *acting_of_faces(faces, len(readings.clock))))


def _looking(readings: Readings) -> Readings:
    """The readings with blinks and looks."""
    best = [readings.actor(who) for who in dict.fromkeys(actor.who for actor in readings.acting)]
    readings = replace(readings, blinks=blinks_of([actor for actor in best if actor is not None], float(readings.movie.rate)))
    return replace(readings, looks=looks_of(readings))


def read_scene_for(request: MeasureRequest, movie: Movie) -> Scene:
    """The request's scene, sampled where each frame starts. Raises InputError, one sentence."""
    assert request.scene is not None
    starts = frame_starts(movie.clock)
    sampling = Sampling(seconds=starts, rate=float(movie.info.rate), first_frame=movie.info.first_frame)
    return read_scene(request.scene, sampling, metres_per_unit=request.cast.metres_per_unit if request.cast else 1.0)


def _with_scene(readings: Readings, cast: Cast | None, scene: Scene) -> Readings:
    info, frames = readings.movie, len(readings.clock)
    said = (*scene.says, *scene_words(scene, cast, first_frame=info.first_frame, frames=frames))
    readings = replace(readings, assumed=(*readings.assumed, *(Assumed("scene", line) for line in said)))
    if cast is None:
        return readings
    width, height = info.width or 1, info.height or 1
    cameras = scene_cameras(scene, cast, first_frame=info.first_frame, frames=frames, width=width, height=height)
    acting = acting_from_scene(scene, cast, cameras, width=width, height=height)
    return replace(readings, acting=(*readings.acting, *acting), cameras=cameras)
