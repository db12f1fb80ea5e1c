"""The cast of a take: every change of it is one edit of the take, made on the cast as it is at that moment."""

from __future__ import annotations

from collections.abc import Callable

from shotcrit.crit.edits import Edit, update
from shotcrit.crit.records import Take
from shotcrit.crit.recount import shifted
from shotcrit.crit.view import View, need
from shotcrit.errors import InputError
from shotcrit.readings.cast import Cast
from shotcrit.room.cast import changes
from shotcrit.room.cast.shapes import CastPut, CastRecount, ContactsPut, FaceConfirmed, FacesPut, LooksPut, MarkPut, NewPart, PartName
from shotcrit.room.edits import Edits


class Casting:
    def __init__(self, edits: Edits) -> None:
        self._edits = edits

    def put(self, take_id: str, body: CastPut, who: str) -> Take:
        """Replace the whole cast."""
        fields = {"cast": changes.sound(body.cast).model_dump(mode="json")}
        return self._edits.edited(
            Take, take_id, who, lambda view: Edit("change the cast", update(need(view, Take, take_id), fields)), base=body.version
        )

    def recount(self, take_id: str, body: CastRecount, who: str) -> Take:
        """Count the cast as the take is counted."""
        return self.change(
            take_id,
            who,
            "count the cast as the take",
            lambda take: shifted(take.cast, take.first_frame - body.counted_from),
            base=body.version,
        )

    def place_mark(self, take_id: str, name: str, mark: str, body: MarkPut, who: str) -> Take:
        act = "place" if len(body.now) >= len(body.was) else "delete"
        label = f"{act} {name}'s {mark.replace('_', ' ')}"
        return self.change(take_id, who, label, lambda take: changes.with_mark(take, name, mark, body.was, body.now))

    def say_looks(self, take_id: str, body: LooksPut, who: str) -> Take:
        return self.change(take_id, who, "say who looks at what", lambda take: changes.with_looks(take, body.was, body.now))

    def say_contacts(self, take_id: str, body: ContactsPut, who: str) -> Take:
        return self.change(take_id, who, "say what must not slide", lambda take: changes.with_contacts(take, body.was, body.now))

    def say_faces(self, take_id: str, body: FacesPut, who: str) -> Take:
        return self.change(take_id, who, "say whose the faces are", lambda take: changes.with_faces(take.cast, body.faces))

    def confirm_face(self, take_id: str, body: FaceConfirmed, who: str) -> Take:
        """The face's proposed marks become placed ones, and it is that character's from now on."""
        name = _named(body.face.who or "")
        said = body.face.model_copy(update={"who": name})
        return self.change(
            take_id,
            who,
            f"confirm {name}'s face",
            lambda take: changes.with_confirmed(changes.with_faces(take.cast, [said]), name, body.marks),
        )

    def add_part(self, take_id: str, body: NewPart, who: str) -> Take:
        name = _named(body.name)
        return self.change(take_id, who, f"add {name}", lambda take: changes.with_part(take.cast, name, body.kind))

    def rename_part(self, take_id: str, old: str, body: PartName, who: str) -> Take:
        new = _named(body.name)
        return self.change(take_id, who, f"rename {old}", lambda take: changes.renamed(take.cast, old, new))

    def remove_part(self, take_id: str, name: str, who: str) -> Take:
        return self.change(take_id, who, f"take {name} out of the cast", lambda take: changes.without_part(take.cast, name))

    def change(self, take_id: str, who: str, label: str, change: Callable[[Take], Cast], *, base: int | None = None) -> Take:
        """Store the cast that `change` makes of the take as it is now. Raises InputError when that is no cast."""

        def act(view: View) -> Edit:
            take = need(view, Take, take_id)
            return Edit(label, update(take, {"cast": changes.sound(change(take)).model_dump(mode="json")}))

        return self._edits.edited(Take, take_id, who, act, base=base)


def _named(name: str) -> str:
    plain = " ".join(name.split())
    if not plain or plain == "camera" or "." in plain:
        raise InputError("a name in the cast has letters, no full stop, and is not 'camera'; choose another one")
    return plain
