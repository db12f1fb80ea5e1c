"""The crit as a whole: state, history, undo, settings, phrases."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Path, Query

from shotcrit.crit.ids import new_id
from shotcrit.crit.reaction import reaction_time
from shotcrit.crit.things import Id, Phrase, Shot
from shotcrit.room.http import READ, WRITE, Here, Who
from shotcrit.room.shapes.common import Done, History
from shotcrit.room.shapes.limits import CheckLimits, LimitPut
from shotcrit.room.shapes.notes import NewPhrase, PhrasePatch, Reactions, ReactionTime
from shotcrit.room.shapes.review import CritState, Settings, SettingsPatch, ShotPatch
from shotcrit.store.commit import MOST_EDITS

read = APIRouter(tags=["crit"], responses=READ)
write = APIRouter(tags=["crit"], responses=WRITE)
LimitKey = Annotated[str, Path(min_length=1, max_length=200, description="'check.limit'")]


@read.get("/crit")
def get_crit(room: Here, who: Who) -> CritState:
    """The whole crit at one moment. Later changes come as events."""
    return room.state(who)


@read.get("/history")
def get_history(
    room: Here, before: Annotated[int | None, Query(ge=1, le=MOST_EDITS)] = None, limit: Annotated[int, Query(ge=1, le=500)] = 100
) -> History:
    """Every edit ever made, newest first."""
    return room.history(before, limit)


@write.post("/undo")
def undo(room: Here, who: Who) -> Done:
    """Take back the last edit of this person, also after a restart. 404 when there is none, 409 when it was built upon meanwhile."""
    return room.undo(who)


@write.post("/redo")
def redo(room: Here, who: Who) -> Done:
    """Bring back what was last undone, as long as nothing was edited since."""
    return room.redo(who)


@write.patch("/shots/{shot_id}")
def change_shot(shot_id: Id, body: ShotPatch, room: Here, who: Who) -> Shot:
    """Rename a shot."""
    return room.patch(Shot, shot_id, body, who, "change a shot")


@read.get("/settings")
def get_settings(room: Here) -> Settings:
    """All settings with their values."""
    return room.settings()


@write.patch("/settings")
def change_settings(body: SettingsPatch, room: Here, who: Who) -> Settings:
    """Change settings, key bindings and limits among them; they go with the person to the next crit."""
    return room.change_settings(body, who)


@read.get("/limits")
def get_limits(room: Here) -> list[CheckLimits]:
    """Every check, and what it judges by: unit, where the number comes from, and the reviewer's own value where there is one."""
    return room.limits()


@write.put("/limits/{key}")
def set_limit(key: LimitKey, body: LimitPut, room: Here, who: Who) -> list[CheckLimits]:
    """Set one limit, or put it back. What was measured stays; findings are judged again at once."""
    return room.set_limit(key, body.value, who)


@write.post("/reaction-time")
def calibrate_reaction(body: Reactions, room: Here, who: Who) -> ReactionTime:
    """Work out the reviewer's reaction time from tries, and keep it as the setting by which markers are drawn back."""
    found = reaction_time(body.samples_ms)
    room.change_settings(SettingsPatch(reaction_ms=found.median_ms), who)
    return ReactionTime(reaction_ms=found.median_ms, spread_ms=found.spread_ms, used=found.used, left_out=found.left_out)


@read.get("/phrases")
def get_phrases(room: Here) -> list[Phrase]:
    """The reviewer's own wordings, most used first."""
    return room.phrases()


@write.post("/phrases", status_code=201)
def add_phrase(body: NewPhrase, room: Here, who: Who) -> Phrase:
    """Keep a wording for later notes."""
    return room.add(Phrase(id=new_id(), text=body.text, field=body.field), who, "keep a phrase")


@write.patch("/phrases/{phrase_id}")
def change_phrase(phrase_id: Id, body: PhrasePatch, room: Here, who: Who) -> Phrase:
    """Change a wording, or count that it was used."""
    return room.patch(Phrase, phrase_id, body, who, "change a phrase")


@write.delete("/phrases/{phrase_id}")
def delete_phrase(phrase_id: Id, room: Here, who: Who, version: Annotated[int | None, Query(ge=0, le=MOST_EDITS)] = None) -> Done:
    """Throw a wording away."""
    return room.delete(Phrase, phrase_id, who, "delete a phrase", version)
