"""Running the installed checks, and how people call what they find."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from shotcrit.checks.about import Check, Column, Kind
from shotcrit.checks.causes import one_each
from shotcrit.checks.finding import Finding, NotMeasured, Result
from shotcrit.checks.installed import door
from shotcrit.counted import counted
from shotcrit.errors import InputError
from shotcrit.readings.bundle import Readings
from shotcrit.unforeseen import lacking


def all_checks() -> tuple[Check, ...]:
    """Every installed check that works, by id."""
    return tuple(one.check for one in door().checks.values())


def limits_for(check: Check, chosen: Mapping[str, float]) -> dict[str, float]:
    """The check's limits, with the reviewer's own values ('hold.ends': 3) put over the defaults."""
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
    """Run every check; of findings with one cause one stays. Findings come in the order of the shot, then by check; the same readings give the same list.
    What lies wholly outside of the frames that count is left out.

    A check that was refused or that fails is told under what was not measured, and the rest stands.
    """
    checks = all_checks()
    require_known(chosen or {}, checks)
    results = [_outcome(check, readings, limits_for(check, chosen or {})) for check in checks]
    told = (f for r in results for f in r.findings if readings.counts is None or f.span.overlap(readings.counts))
    findings = sorted(one_each(told), key=lambda f: (f.span.start, f.check, f.kind, f.who or ""))
    refused = [NotMeasured(one.name, None, one.says) for one in door().refused]
    refused += [NotMeasured(one.part, None, one.needs) for one in readings.broken]
    missing = sorted((*refused, *(m for r in results for m in r.not_measured)), key=lambda m: (m.check, m.who or ""))
    return tuple(findings), tuple(missing)


def _outcome(check: Check, readings: Readings, limits: Mapping[str, float]) -> Result:
    """What a check answers; one that fails, ours or a stranger's, is told as not measured, and never stops the others."""
    try:
        return _sound(check.ID, check.run(readings, limits), len(readings.clock))
    except Exception as problem:  # any check may fail on any shot
        by = door().checks.get(check.ID)
        whose = f"; this check comes from {by.made_by}" if by is not None and by.source else ""
        return Result(not_measured=(NotMeasured(check.ID, None, f"{lacking(problem)}{whose}"),))


def _sound(check: str, result: object, frames: int) -> Result:
    """A result that everything after it can rely on. Raises TypeError or ValueError for another."""
    if not isinstance(result, Result):
        raise TypeError(f"a check has to return a Result, not {type(result).__name__}")
    for finding in result.findings:
        if finding.check != check or finding.span.stop > frames:
            raise ValueError(f"a finding of {finding.check} at {finding.span} does not belong to {check} in {counted(frames, 'frame')}")
    return result


def name_of(check: str) -> str:
    """A check as people call it; its id where it is not installed (a finding may be older than what is installed)."""
    known = door().checks.get(check)
    return known.about.name if known else check


def kind_of(check: str, kind: str) -> Kind:
    """What a check says of one of its kinds; its id in words where it says nothing."""
    known = door().checks.get(check)
    return (known.about.kinds if known else {}).get(kind) or Kind(kind, kind.replace("_", " "))


def column_of(check: str) -> Column | None:
    """The sheet's column that a check belongs to."""
    known = door().checks.get(check)
    return known.about.column if known else None
