"""What the checks of movement say of motion that was captured from people and left as it was: unedited, it should stay nearly silent."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from tests.make.captured import captured

from shotcrit.checks.finding import Finding
from shotcrit.checks.registry import all_checks, limits_for

MOTION = ("arc", "echo", "gravity", "twinning")
"""The checks that speak of movement alone."""


@dataclass(frozen=True)
class Heard:
    """level : 2 seen by a standing camera, 3 as captured; seconds : judged; findings : (file, finding)"""

    level: int
    seconds: float
    findings: tuple[tuple[str, Finding], ...]

    def each_minute(self, check: str) -> float:
        """Findings a minute of one check, praise aside."""
        told = [f for _, f in self.findings if f.check == check]
        return 60 * len(told) / self.seconds if self.seconds else float("nan")


def heard(folder: Path, *, level: int, only: Sequence[str] = MOTION) -> Heard:
    """Every BVH file in a folder that has a body, judged at 24 frames a second, 20 seconds of each at most."""
    found: list[tuple[str, Finding]] = []
    seconds = 0.0
    checks = [check for check in all_checks() if check.ID in only]
    for path in sorted(folder.glob("*.bvh")):
        try:
            readings = captured(path, level=level)
        except ValueError:
            continue
        seconds += len(readings.clock) / float(readings.clock.rate)
        found += [(path.name, f) for check in checks for f in check.run(readings, limits_for(check, {})).findings]
    return Heard(level, seconds, tuple(found))


def report(folder: Path) -> str:
    """A table of findings a minute, and each of them in words; '' without material."""
    motion = folder / "motion"
    if not motion.is_dir():
        return ""
    lines = ["## Captured motion", ""]
    for level in (3, 2):
        told = heard(motion, level=level)
        rates = ", ".join(f"{check} {told.each_minute(check):.2f}" for check in MOTION)
        lines += [f"Level {level}, {told.seconds:.0f} s: findings a minute: {rates}.", ""]
        lines += [f"- {name}, {f.span.start}: {f.check} {f.kind}, {f.weight}: {f.says}" for name, f in told.findings]
    return "\n".join(lines) + "\n"
