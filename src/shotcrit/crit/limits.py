"""The reviewer's own limits, as a crit keeps them."""

from __future__ import annotations

from shotcrit.checks.registry import all_checks
from shotcrit.crit.records import Setting
from shotcrit.crit.view import View


def own_limits(view: View) -> dict[str, float]:
    """Values by 'check.limit' that stand in for the checks' own. What no check here knows (it was written elsewhere) is left out."""
    stored = view.get(Setting, "limits")
    pairs = stored.value.items() if stored is not None and isinstance(stored.value, dict) else ()
    known = {f"{check.ID}.{limit.name}" for check in all_checks() for limit in check.LIMITS}
    return {key: float(value) for key, value in pairs if key in known and _is_number(value)}


def _is_number(value: object) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool)
