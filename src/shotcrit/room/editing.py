"""The crit in words: state, history, settings, notes, drawings, markers, phrases."""

from __future__ import annotations

from shotcrit.crit import notes as acts
from shotcrit.crit.things import Correction, Decision, Drawing, Marker, Note, Phrase, Shot, Take
from shotcrit.crit.view import need
from shotcrit.room.base import Base, names
from shotcrit.room.limits import checks_with_limits, limit_set, require_sound
from shotcrit.room.settings import change_settings, settings_of
from shotcrit.room.shapes.common import History, HistoryEntry
from shotcrit.room.shapes.limits import CheckLimits
from shotcrit.room.shapes.review import CritState, Media, Settings, SettingsPatch


class Editing(Base):
    def state(self, who: str) -> CritState:
        """Everything stored, at one moment."""
        scope = self.crit.scope(who)
        with self.crit.view() as view:
            undo, redo = view.next_undo(scope), view.next_redo(scope)
            return CritState(
                name=self.crit.name,
                seq=view.seq(),
                undo=undo.label if undo else None,
                redo=redo.label if redo else None,
                shots=list(view.all(Shot)),
                takes=(takes := list(view.all(Take))),
                notes=sorted(view.all(Note), key=lambda n: (n.take, n.place, n.id)),
                drawings=list(view.all(Drawing)),
                decisions=list(view.all(Decision)),
                markers=list(view.all(Marker)),
                corrections=list(view.all(Correction)),
                phrases=_most_used(view.all(Phrase)),
                settings=settings_of(view),
                media=[self.media_state(take) for take in takes],
            )

    def media_state(self, take: Take) -> Media:
        """Where a take's movie is; the part of the room that knows media answers."""
        raise NotImplementedError

    def history(self, before: int | None, limit: int) -> History:
        with self.crit.view() as view:
            rows = view.history(before, limit)
            touched = view.touched([row.seq for row in rows])
            entries = [
                HistoryEntry.model_validate(
                    {
                        "seq": r.seq,
                        "when": r.at,
                        "who": r.who,
                        "what": r.what,
                        "of": r.of,
                        "label": r.label,
                        "changed": names(touched[r.seq]),
                    }
                )
                for r in rows
            ]
        return History(entries=entries, older=rows[-1].seq if rows and rows[-1].seq > 1 else None)

    def change_settings(self, body: SettingsPatch, who: str) -> Settings:
        fields = self.fields(body)
        require_sound(fields.get("limits") or {})
        self.store(who, lambda view: change_settings(view, fields))
        return self.settings()

    def limits(self) -> list[CheckLimits]:
        return checks_with_limits(self.settings().limits)

    def set_limit(self, key: str, value: float | None, who: str) -> list[CheckLimits]:
        """One limit alone, so that two windows may set two of them."""
        require_sound({key: 0.0 if value is None else value})
        self.store(who, lambda view: limit_set(view, key, value))
        return self.limits()

    def phrases(self) -> list[Phrase]:
        with self.crit.view() as view:
            return _most_used(view.all(Phrase))

    def notes(self, take_id: str, find: str) -> list[Note]:
        with self.crit.view() as view:
            need(view, Take, take_id)
            return [note for note in acts.in_order(view, take_id) if _holds(note, find)]

    def move_note(self, note_id: str, after: str | None, base: int, who: str) -> list[Note]:
        note = self.edited(Note, note_id, who, lambda view: acts.move_note(view, note_id, after), base=base)
        return self.notes(note.take, "")

    def drawings(self, take_id: str) -> list[Drawing]:
        with self.crit.view() as view:
            need(view, Take, take_id)
            return list(view.all(Drawing, take=take_id))


def _most_used(phrases: tuple[Phrase, ...]) -> list[Phrase]:
    return sorted(phrases, key=lambda p: (-p.used, p.text))


def _holds(note: Note, find: str) -> bool:
    wanted = find.casefold().split()
    text = " ".join((note.what, note.why, note.suggest, note.who or "", note.weight)).casefold()
    return all(word in text for word in wanted)
