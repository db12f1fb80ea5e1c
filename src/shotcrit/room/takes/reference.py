"""A still, a drawing or another movie from disk, laid beside a take and kept in step with it by time. Nothing of it is measured or sent."""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction
from pathlib import Path

from shotcrit.clock import FrameClock
from shotcrit.crit.edits import Edit, make, unmake, update
from shotcrit.crit.records import Setting, Take
from shotcrit.crit.view import NotHere, View
from shotcrit.errors import InputError
from shotcrit.room.edits import Edits
from shotcrit.room.takes.beside import picture_of
from shotcrit.room.takes.media import MediaPlaces
from shotcrit.room.takes.shapes import Reference, ReferencePut
from shotcrit.room.worker import PictureMaker

SEEN_PX = 960
"""Width of its pictures: half of a large window, since it lies beside the shot (guess)."""


def in_step(own: FrameClock, other: FrameClock, offset_s: float) -> list[int | None]:
    """For each frame of `own` the one of `other` that is on screen at its middle, `offset_s` later; None before its start and past its end.

    A still, one picture, is on all frames. The middle, so that frames of one rate answer each other whatever rounding their times have seen.
    """
    if len(other) == 1:
        return [0] * len(own)
    times = [own.middle(i) + Fraction(offset_s).limit_denominator(1_000_000) for i in range(len(own))]
    return [other.frame_at(t) if 0 <= t < other.duration else None for t in times]


class References:
    """clock : of a take's movie"""

    def __init__(self, edits: Edits, media: MediaPlaces, worker: PictureMaker, clock: Callable[[Take], FrameClock]) -> None:
        self._edits = edits
        self._media = media
        self._worker = worker
        self._clock = clock

    def of(self, take_id: str) -> Reference | None:
        """What lies beside a take, with its frame for each of the take's. Raises MediaError where it cannot be read any more."""
        take = self._edits.get(Take, take_id)
        with self._edits.view() as view:
            kept = _kept(view, take_id)
        if kept is None:
            return None
        path = Path(kept.path or "")
        info, clock = self._worker.look_at(path)
        frames = in_step(self._clock(take), clock, kept.offset_s)
        url = f"/reference/{take_id}/{{index}}.jpg?of={info.sha256[:12]}"
        return Reference(path=str(path), name=path.name, offset_s=kept.offset_s, frame_s=float(1 / clock.rate), frames=frames, url=url)

    def put(self, take_id: str, body: ReferencePut, who: str) -> Reference | None:
        """Lay something beside a take, move it in time, or take it away (no path). Raises InputError for what may not be read or shows nothing."""
        self._edits.get(Take, take_id)
        kept = body
        if body.path:
            path = self._media.allowed(body.path)
            if not self._worker.look_at(path)[0].width:
                raise InputError(f"{path.name} has no pictures; give a movie, a still or a drawing")
            kept = body.model_copy(update={"path": str(path)})
        self._edits.store(who, lambda view: _keep(view, take_id, kept))
        return self.of(take_id)

    def picture(self, take_id: str, index: int) -> bytes:
        """One of its pictures as JPEG. Raises NotHere where nothing lies beside the take, or it has no such picture."""
        with self._edits.view() as view:
            kept = _kept(view, take_id)
        if kept is None:
            raise NotHere("nothing lies beside this take")
        return picture_of(self._worker, self._edits.get(Take, take_id), Path(kept.path or ""), index, SEEN_PX)


def _id(take_id: str) -> str:
    return f"beside-{take_id}"


def _kept(view: View, take_id: str) -> ReferencePut | None:
    stored = view.get(Setting, _id(take_id))
    return ReferencePut.model_validate(stored.value) if stored is not None else None


def _keep(view: View, take_id: str, body: ReferencePut) -> Edit:
    old, label = view.get(Setting, _id(take_id)), "lay a picture beside" if body.path else "take the picture beside away"
    if not body.path:
        return Edit(label, () if old is None else (unmake(old),))
    value = body.model_dump(mode="json")
    return Edit(label, (make(Setting(id=_id(take_id), value=value)),) if old is None else update(old, {"value": value}))
