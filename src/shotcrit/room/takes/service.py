"""Takes: adding one, and what is said of one as a whole."""

from __future__ import annotations

from shotcrit.crit.edits import Edit, update
from shotcrit.crit.records import Note, Take
from shotcrit.crit.recount import counts_of, recounted
from shotcrit.crit.view import View, need
from shotcrit.room.edits import Edits, given
from shotcrit.room.takes.adding import known_as, next_take
from shotcrit.room.takes.media import MediaPlaces
from shotcrit.room.takes.shapes import NewTake, TakePatch
from shotcrit.room.worker import PictureMaker


class Takes:
    def __init__(self, edits: Edits, media: MediaPlaces, worker: PictureMaker) -> None:
        self._edits = edits
        self._media = media
        self._worker = worker

    def listed(self) -> list[Take]:
        """Oldest first."""
        with self._edits.view() as view:
            return list(view.all(Take))

    def get(self, take_id: str) -> Take:
        """Raises NotHere when there is none."""
        return self._edits.get(Take, take_id)

    def add(self, body: NewTake, who: str) -> Take:
        info, _ = self._worker.look_at(self._media.allowed(body.path))
        added: list[str] = []

        def act(view: View) -> Edit:
            same = known_as(view, info, body.shot)
            if same is not None:
                added[:] = [same.id]
                return Edit("add a take", ())
            new = next_take(view, info, shot=body.shot, label=body.label)
            added[:] = [new.take.id]
            return new.edit()

        self._edits.store(who, act)
        return self.get(added[0])

    def change(self, take_id: str, body: TakePatch, who: str) -> Take:
        fields = given(body)

        def act(view: View) -> Edit:
            if fields.get("one_thing") is not None:
                need(view, Note, fields["one_thing"])
            take = need(view, Take, take_id)
            asked = fields.get("first_frame")
            moved = recounted(take, asked) if isinstance(asked, int) else {}
            if counts := fields.get("counts"):
                moved["counts"] = counts_of(take, take.first_frame + counts["first"], take.first_frame + counts["last"])
            return Edit("change a take", update(take, {**fields, **moved}))

        return self._edits.edited(Take, take_id, who, act, base=body.version)
