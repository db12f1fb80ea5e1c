"""Findings: what the checks propose, and what the reviewer makes of it."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Path
from fastapi.responses import Response

from shotcrit.crit.records import Decision, Id, Note
from shotcrit.room.http import READ, WRITE, Here, Who
from shotcrit.room.judging.shapes import Dismissal, EditFinding, TakeFinding, Tray
from shotcrit.room.shapes import Done

read = APIRouter(tags=["findings"], responses=READ)
write = APIRouter(tags=["findings"], responses=WRITE)
_SVG: dict[int | str, dict[str, Any]] = {200: {"content": {"image/svg+xml": {}}, "description": "The drawing."}}
Key = Annotated[str, Path(pattern=r"^[0-9a-f]{16}$", description="The finding's key in this take.")]


@read.get("/takes/{take_id}/findings")
def get_findings(take_id: Id, room: Here) -> Tray:
    """What the checks propose, with what the reviewer made of it. Those dismissed stay dismissed unless they got worse."""
    return room.judging.tray(take_id)


@read.get("/takes/{take_id}/findings/{key}/plan.svg", responses=_SVG, response_class=Response)
def get_plan(take_id: Id, key: Key, room: Here) -> Response:
    """A look from above and from the side, as it is and as it should be, where a scene tells all places."""
    return Response(room.judging.plan(take_id, key), media_type="image/svg+xml")


@write.post("/takes/{take_id}/findings/{key}/take", status_code=201)
def take_finding(take_id: Id, key: Key, body: TakeFinding, room: Here, who: Who) -> Note:
    """Make a note of a finding, with its frames, still and numbers, to be worded."""
    return room.judging.take(take_id, key, body, who)


@write.post("/takes/{take_id}/findings/{key}/dismiss")
def dismiss_finding(take_id: Id, key: Key, body: Dismissal, room: Here, who: Who) -> Decision:
    """Put a finding away with a reason. It stays away, also on the next take, unless it gets worse."""
    return room.judging.dismiss(take_id, key, body.reason, who)


@write.post("/takes/{take_id}/findings/{key}/edit")
def edit_finding(take_id: Id, key: Key, body: EditFinding, room: Here, who: Who) -> Decision:
    """Reword a finding, or change its weight or frames, before it is taken."""
    return room.judging.reword(take_id, key, body.rewording, who)


@write.post("/takes/{take_id}/findings/{key}/restore")
def restore_finding(take_id: Id, key: Key, room: Here, who: Who) -> Done:
    """Open a finding again. A note that was made of it stays."""
    return room.judging.restore(take_id, key, who)
