"""The one list of checks. Built-in checks register through the same entry points (group 'shotcrit.checks') as a stranger's."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from functools import cache
from importlib.metadata import entry_points
from typing import Protocol

from shotcrit.checks.finding import Finding, Limit, NotMeasured, Result
from shotcrit.errors import InputError
from shotcrit.readings.bundle import Readings
from shotcrit.unforeseen import lacking

GROUP = "shotcrit.checks"
Limits = Mapping[str, float]
"""Values of one check's limits by name."""


class Check(Protocol):
    """A check: a module or object with these names. `run` is pure."""

    ID: str
    TITLE: str
    HELP: str
    LIMITS: tuple[Limit, ...]

    def run(self, readings: Readings, limits: Limits) -> Result:
        """Compare readings with limits (every name of LIMITS is there)."""


@cache
def all_checks() -> tuple[Check, ...]:
    """Every installed check, by id. Looked for once a run: it means reading what every installed package says of itself."""
    loaded = [point.load() for point in entry_points(group=GROUP)]
    return tuple(sorted(loaded, key=lambda check: str(check.ID)))


def limits_for(check: Check, chosen: Mapping[str, float]) -> dict[str, float]:
    """The check's limits, with the reviewer's own values ('hold.cg_tail': 3) put over the defaults."""
    own = {limit.name: limit.value for limit in check.LIMITS}
    prefix = f"{check.ID}."
    for key, value in chosen.items():
        if key.startswith(prefix):
            own[key.removeprefix(prefix)] = value
    return own


def require_known(chosen: Mapping[str, float], checks: Iterable[Check]) -> None:
    """Raise InputError for a limit that no check has."""
    known = {f"{check.ID}.{limit.name}" for check in checks for limit in check.LIMITS}
    for key in sorted(set(chosen) - known):
        raise InputError(f"'{key}' is no limit; known are {', '.join(sorted(known))}")


def run_checks(readings: Readings, chosen: Mapping[str, float] | None = None) -> tuple[tuple[Finding, ...], tuple[NotMeasured, ...]]:
    """Run every check. Findings come in the order of the shot, then by check; the same readings give the same list."""
    checks = all_checks()
    require_known(chosen or {}, checks)
    results = [_outcome(check, readings, limits_for(check, chosen or {})) for check in checks]
    findings = sorted((f for r in results for f in r.findings), key=lambda f: (f.span.start, f.check, f.kind, f.who or ""))
    missing = sorted((m for r in results for m in r.not_measured), key=lambda m: (m.check, m.who or ""))
    return tuple(findings), tuple(missing)


def _outcome(check: Check, readings: Readings, limits: Limits) -> Result:
    """What a check answers; one that fails, ours or a stranger's, is told as not measured, and never stops the others."""
    try:
        result = check.run(readings, limits)
        if not isinstance(result, Result):
            raise TypeError(f"a check has to return a Result, not {type(result).__name__}")
    except Exception as problem:
        return Result(not_measured=(NotMeasured(check.ID, None, lacking(problem)),))
    return result
