"""Settings, limits, the reviewer's own wordings and reaction time."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Path

from shotcrit.crit.records import Id, Phrase
from shotcrit.room.http import READ, WRITE, Base, Here, Who
from shotcrit.room.settings.shapes import CheckLimits, LimitPut, NewPhrase, PhrasePatch, Reactions, ReactionTime, Settings, SettingsPatch
from shotcrit.room.shapes import Done

read = APIRouter(tags=["settings"], responses=READ)
write = APIRouter(tags=["settings"], responses=WRITE)
LimitKey = Annotated[str, Path(min_length=1, max_length=200, description="'check.limit'")]


@read.get("/settings")
def get_settings(room: Here) -> Settings:
    """All settings with their values."""
    return room.settings.now()


@write.patch("/settings")
def change_settings(body: SettingsPatch, room: Here, who: Who) -> Settings:
    """Change settings, key bindings and limits among them; they go with the person to the next crit."""
    return room.settings.change(body, who)


@read.get("/limits")
def get_limits(room: Here) -> list[CheckLimits]:
    """Every check, and what it judges by: unit, where the number comes from, and the reviewer's own value where there is one."""
    return room.settings.limits()


@write.put("/limits/{key}")
def set_limit(key: LimitKey, body: LimitPut, room: Here, who: Who) -> list[CheckLimits]:
    """Set one limit, or put it back. What was measured stays; findings are judged again at once."""
    return room.settings.set_limit(key, body.value, who)


@write.post("/reaction-time")
def calibrate_reaction(body: Reactions, room: Here, who: Who) -> ReactionTime:
    """Work out the reviewer's reaction time from tries, and keep it as the setting by which markers are drawn back."""
    return room.settings.measure_reaction(body, who)


@read.get("/phrases")
def get_phrases(room: Here) -> list[Phrase]:
    """The reviewer's own wordings, most used first."""
    return room.settings.phrases()


@write.post("/phrases", status_code=201)
def add_phrase(body: NewPhrase, room: Here, who: Who) -> Phrase:
    """Keep a wording for later notes."""
    return room.settings.add_phrase(body, who)


@write.patch("/phrases/{phrase_id}")
def change_phrase(phrase_id: Id, body: PhrasePatch, room: Here, who: Who) -> Phrase:
    """Change a wording, or count that it was used."""
    return room.settings.change_phrase(phrase_id, body, who)


@write.delete("/phrases/{phrase_id}")
def delete_phrase(phrase_id: Id, room: Here, who: Who, version: Base = None) -> Done:
    """Throw a wording away."""
    return room.settings.delete_phrase(phrase_id, who, version)
