"""One limit's case, and how the value at which it switches is found."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from shotcrit.checks.about import Check
from shotcrit.checks.registry import limits_for
from shotcrit.readings.bundle import Readings

FINE = 24
"""Halvings: a 16-millionth of the range."""


@dataclass(frozen=True)
class Case:
    """What is planted, and where the check begins to tell it.

    plant : readings with so much of it, in the limit's unit or in what it says
    kind, weight : of the finding that the limit lets through
    quiet, loud : what is surely not told, and what surely is; loud may be the smaller
    at : the planted value where it switches, written down here and nowhere taken from the check; within : how near to it
    whole : planted in whole steps (frames, flashes); `at` is then the first that is told, coming from `quiet`
    """

    plant: Callable[[float], Readings]
    kind: str
    quiet: float
    loud: float
    at: float
    within: float = 0.0
    whole: bool = False
    weight: str | None = None

    def told(self, check: Check, planted: float, **own: float) -> bool:
        found = check.run(self.plant(planted), {**limits_for(check, {}), **own}).findings
        return any(f.kind == self.kind and self.weight in (None, f.weight) for f in found)

    def switch(self, check: Check) -> tuple[float, float]:
        """(the last planted value that is not told, the first that is), as near to each other as can be found."""
        quiet, loud = self.quiet, self.loud
        assert not self.told(check, quiet), f"{quiet} is told already"
        assert self.told(check, loud), f"{loud} is not told either"
        for _ in range(FINE):
            if self.whole and abs(loud - quiet) <= 1:
                break
            middle = (quiet + loud) // 2 if self.whole else (quiet + loud) / 2
            if not self.whole and abs(loud - quiet) <= self.within:
                break
            quiet, loud = (quiet, middle) if self.told(check, middle) else (middle, loud)
        return quiet, loud
