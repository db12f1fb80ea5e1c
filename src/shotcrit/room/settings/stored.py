"""Settings: one stored record a setting, so that two windows may change two of them."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from pydantic import ValidationError

from shotcrit.crit.edits import Change, Edit, make, unmake, update
from shotcrit.crit.ids import new_id
from shotcrit.crit.limits import own_limits
from shotcrit.crit.records import Phrase, Setting
from shotcrit.crit.view import View
from shotcrit.errors import InputError
from shotcrit.room.settings.shapes import Settings
from shotcrit.store.person import Habits


def settings_of(view: View) -> Settings:
    """All settings, with their defaults. One that is no longer sound counts as never changed."""
    stored = {s.id: s.value for s in view.all(Setting)} | {"limits": own_limits(view)}
    try:
        return Settings.model_validate({k: v for k, v in stored.items() if k in Settings.model_fields})
    except ValidationError:
        sound = {k: v for k, v in stored.items() if _sound(k, v)}
        return Settings.model_validate(sound)


def _sound(name: str, value: Any) -> bool:
    try:
        Settings.model_validate({name: value})
    except ValidationError:
        return False
    return True


def change_settings(view: View, fields: Mapping[str, Any]) -> Edit:
    """Set what is given; None puts a setting back to its default. Raises InputError for a value that does not fit."""
    fields = {name: _joined(view, name, value) for name, value in fields.items()}
    for name, value in fields.items():
        if value is not None and not _sound(name, value):
            raise InputError(f"the setting {name} does not take this value; look at its help and choose another")
    steps: list[Change] = []
    for name, value in fields.items():
        old = view.get(Setting, name)
        if old is None and value is not None:
            steps.append(make(Setting(id=name, value=value)))
        elif old is not None and value is None:
            steps.append(unmake(old))
        elif old is not None:
            steps.extend(update(old, {"value": value}))
    return Edit("change settings", tuple(steps))


def _joined(view: View, name: str, value: Any) -> Any:
    """Keys join those that were changed before, by this window or another; None when none is left."""
    if name != "keys" or value is None:
        return value
    stored = view.get(Setting, name)
    old = stored.value if stored is not None and isinstance(stored.value, dict) else {}
    return {action: key for action, key in {**old, **value}.items() if key is not None} or None


def habits_of(view: View) -> Habits:
    """What goes with the person to the next crit."""
    phrases = tuple({"text": p.text, "field": p.field, "used": p.used} for p in view.all(Phrase))
    return Habits({s.id: s.value for s in view.all(Setting) if s.id in Settings.model_fields}, phrases)


def phrases_of(view: View) -> list[Phrase]:
    """The reviewer's own wordings, most used first."""
    return sorted(view.all(Phrase), key=lambda p: (-p.used, p.text))


def seed(habits: Habits) -> Edit:
    """A new crit starts with the person's habits; what is not sound in them is left out."""
    settings = [
        make(Setting(id=name, value=value))
        for name, value in habits.settings.items()
        if name in Settings.model_fields and _sound(name, value)
    ]
    phrases = []
    for body in habits.phrases:
        try:
            phrases.append(make(Phrase.model_validate({**body, "id": new_id(), "version": 0})))
        except ValidationError:
            continue
    return Edit("start with one's own settings", (*settings, *phrases))
