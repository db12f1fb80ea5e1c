"""Parts of a measurement, of which one that breaks off takes no other with it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import TypeVar

from shotcrit.errors import ShotcritError, Stopped
from shotcrit.readings.bundle import Broken, Part
from shotcrit.unforeseen import lacking

Made = TypeVar("Made")


@dataclass
class Attempts:
    """What broke off so far. May be used from several threads."""

    broken: list[Broken] = field(default_factory=list)

    def part(self, name: Part, work: Callable[[], Made]) -> Made | None:
        """What `work` gives; None where it broke off in a way that nobody foresaw, which is noted with its report.

        Lets Stopped and ShotcritErrors through: a user asked for the one, and can mend the other.
        """
        try:
            return work()
        except (ShotcritError, Stopped):
            raise
        except Exception as problem:
            self.broken.append(Broken(name, lacking(problem)))
            return None

    def failed(self, name: Part) -> bool:
        """Whether a part broke off."""
        return any(one.part == name for one in self.broken)
