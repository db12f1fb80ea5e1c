"""What the reviewer set: settings, limits, own wordings, reaction time. They go with the person to the next crit."""

from __future__ import annotations

from pathlib import Path

from shotcrit.crit.ids import new_id
from shotcrit.crit.reaction import reaction_time
from shotcrit.crit.records import Phrase
from shotcrit.room.edits import Edits, given
from shotcrit.room.settings.limits import checks_with_limits, limit_set, require_sound
from shotcrit.room.settings.shapes import CheckLimits, NewPhrase, PhrasePatch, Reactions, ReactionTime, Settings, SettingsPatch
from shotcrit.room.settings.stored import change_settings, habits_of, phrases_of, settings_of
from shotcrit.room.shapes import Done
from shotcrit.store.commit import Saved
from shotcrit.store.person import login_name, write_habits


class OwnSettings:
    """habits: file where the person's own settings are kept from crit to crit; None for nowhere."""

    def __init__(self, edits: Edits, habits: Path | None) -> None:
        self._edits = edits
        self._habits = habits
        edits.on_saved(self._keep_habits)

    def now(self) -> Settings:
        with self._edits.view() as view:
            return settings_of(view)

    def reviewer(self) -> str:
        """The name put to edits that carry none."""
        return self.now().reviewer or login_name()

    def change(self, body: SettingsPatch, who: str) -> Settings:
        fields = given(body)
        require_sound(fields.get("limits") or {})
        self._edits.store(who, lambda view: change_settings(view, fields))
        return self.now()

    def limits(self) -> list[CheckLimits]:
        return checks_with_limits(self.now().limits)

    def set_limit(self, key: str, value: float | None, who: str) -> list[CheckLimits]:
        """One limit alone, so that two windows may set two of them."""
        require_sound({key: 0.0 if value is None else value})
        self._edits.store(who, lambda view: limit_set(view, key, value))
        return self.limits()

    def measure_reaction(self, body: Reactions, who: str) -> ReactionTime:
        """Work out the reviewer's reaction time from tries, and keep it."""
        found = reaction_time(body.samples_ms)
        self.change(SettingsPatch(reaction_ms=found.median_ms), who)
        return ReactionTime(reaction_ms=found.median_ms, spread_ms=found.spread_ms, used=found.used, left_out=found.left_out)

    # Own wordings

    def phrases(self) -> list[Phrase]:
        with self._edits.view() as view:
            return phrases_of(view)

    def add_phrase(self, body: NewPhrase, who: str) -> Phrase:
        return self._edits.add(Phrase(id=new_id(), text=body.text, field=body.field), who, "keep a phrase")

    def change_phrase(self, phrase_id: str, body: PhrasePatch, who: str) -> Phrase:
        return self._edits.patch(Phrase, phrase_id, body, who, "change a phrase")

    def delete_phrase(self, phrase_id: str, who: str, base: int | None) -> Done:
        return self._edits.delete(Phrase, phrase_id, who, "delete a phrase", base)

    def _keep_habits(self, saved: Saved) -> None:
        if self._habits is not None and any(c.kind in ("phrase", "setting") for c in saved.changes):
            with self._edits.view() as view:
                habits = habits_of(view)
            write_habits(self._habits, habits)
