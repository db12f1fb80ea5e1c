"""The crit as a whole: state, history, undo, its shots."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Query

from shotcrit.crit.records import Id, Shot
from shotcrit.room.history.shapes import CritState, History, ShotPatch
from shotcrit.room.http import READ, WRITE, Here, Who
from shotcrit.room.shapes import Done
from shotcrit.store.commit import MOST_EDITS

read = APIRouter(tags=["crit"], responses=READ)
write = APIRouter(tags=["crit"], responses=WRITE)


@read.get("/crit")
def get_crit(room: Here, who: Who) -> CritState:
    """The whole crit at one moment. Later changes come as events."""
    return room.history.state(who)


@read.get("/history")
def get_history(
    room: Here, before: Annotated[int | None, Query(ge=1, le=MOST_EDITS)] = None, limit: Annotated[int, Query(ge=1, le=500)] = 100
) -> History:
    """Every edit ever made, newest first."""
    return room.history.entries(before, limit)


@write.post("/undo")
def undo(room: Here, who: Who) -> Done:
    """Take back the last edit of this person, also after a restart. 404 when there is none, 409 when it was built upon meanwhile."""
    return room.edits.undo(who)


@write.post("/redo")
def redo(room: Here, who: Who) -> Done:
    """Bring back what was last undone, as long as nothing was edited since."""
    return room.edits.redo(who)


@write.patch("/shots/{shot_id}")
def change_shot(shot_id: Id, body: ShotPatch, room: Here, who: Who) -> Shot:
    """Rename a shot."""
    return room.edits.patch(Shot, shot_id, body, who, "change a shot")
