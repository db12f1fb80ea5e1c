"""One cause is one finding: of findings, of whatever checks, that saw the same thing go wrong, the one that explains it best is told."""

from __future__ import annotations

from collections.abc import Iterable

from shotcrit.checks.finding import Finding

ROOTS = frozenset({("cut", "crossed_line"), *(("hold", kind) for kind in ("head", "tail", "inside", "region"))})
"""Check and kind of what brings other faults about: a camera over the line turns looks and movements round, who stands still neither speaks nor breathes."""


def one_each(findings: Iterable[Finding]) -> list[Finding]:
    """The findings in their order, without those whose cause a better one tells. A finding that names no cause stays."""
    told = list(findings)
    kept: list[Finding] = []
    for finding in sorted(told, key=_rank):
        if not any(_share_a_cause(finding, better) for better in kept):
            kept.append(finding)
    stays = {id(finding) for finding in kept}
    return [finding for finding in told if id(finding) in stays]


def _rank(finding: Finding) -> tuple[bool, bool, bool, int, float]:
    """Best first: what rests on no assumption, what lies at the root, what holds the shot back, what accuses the fewest, what is surest."""
    branch = (finding.check, finding.kind) not in ROOTS
    return bool(finding.rests_on), branch, finding.weight != "must", len({c.who for c in finding.causes}), -finding.confidence


def _share_a_cause(one: Finding, other: Finding) -> bool:
    return any(a.is_of(b) for a in one.causes for b in other.causes)
