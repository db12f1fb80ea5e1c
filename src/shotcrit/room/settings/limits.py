"""What checks judge by, as the reviewer sees and sets it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from shotcrit.checks.about import Check
from shotcrit.checks.finding import Limit
from shotcrit.checks.registry import all_checks, require_known
from shotcrit.crit.edits import Edit
from shotcrit.crit.view import View
from shotcrit.errors import InputError
from shotcrit.room.settings.shapes import CheckLimits, OwnLimit
from shotcrit.room.settings.stored import change_settings, settings_of

LARGEST = 1_000_000.0
"""Beyond every unit that a limit has; a larger number is a slip of the hand."""


def checks_with_limits(chosen: Mapping[str, float]) -> list[CheckLimits]:
    """Every check with its limits; `chosen` are the reviewer's own values by 'check.limit'."""
    return [_check(check, chosen) for check in all_checks()]


def _check(check: Check, chosen: Mapping[str, float]) -> CheckLimits:
    return CheckLimits(check=check.ID, title=check.TITLE, help=check.HELP, limits=[_limit(check, limit, chosen) for limit in check.LIMITS])


def _limit(check: Check, limit: Limit, chosen: Mapping[str, float]) -> OwnLimit:
    key = f"{check.ID}.{limit.name}"
    return OwnLimit(key=key, name=limit.name, value=limit.value, own=chosen.get(key), unit=limit.unit, basis=limit.basis, help=limit.help)


def require_sound(limits: Mapping[str, float]) -> None:
    """Raise InputError for a limit that no check has, and for a number that no limit can be."""
    require_known(limits, all_checks())
    for key, value in limits.items():
        if not 0 <= value <= LARGEST:
            raise InputError(f"{key} cannot be {value:g}; a limit is a number from 0 up")


def limit_set(view: View, key: str, value: float | None) -> Edit:
    """The edit that sets one limit and leaves the others as they are; None, or the check's own value, puts it back."""
    chosen: dict[str, Any] = dict(settings_of(view).limits)
    chosen.pop(key, None)
    if value is not None and value != _standard(key):
        chosen[key] = value
    edit = change_settings(view, {"limits": chosen or None})
    return Edit(f"set the limit {key}", edit.changes)


def _standard(key: str) -> float | None:
    return next((limit.value for check in all_checks() for limit in check.LIMITS if f"{check.ID}.{limit.name}" == key), None)
