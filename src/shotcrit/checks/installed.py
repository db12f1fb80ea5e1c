"""Which checks are installed. Ours come in by the same entry points (group 'shotcrit.checks') as a stranger's; what cannot come in is told, not raised."""

from __future__ import annotations

import sys
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cache
from hashlib import sha256
from importlib.metadata import Distribution, EntryPoint, entry_points
from pathlib import Path
from types import MappingProxyType

from shotcrit.checks.about import About, Check, about

GROUP = "shotcrit.checks"
OURS = "shotcrit"
"""The distribution whose checks come first: a stranger's does not push out one of ours by taking its id."""


@dataclass(frozen=True)
class Installed:
    """A check that came in. made_by : name and version of its distribution; source : hash of its code, '' for ours (measurements follow all of ours)"""

    check: Check
    about: About
    made_by: str
    source: str = ""


@dataclass(frozen=True)
class Refused:
    """A check that did not come in, by its entry point's name. why : a phrase"""

    name: str
    made_by: str
    why: str

    @property
    def says(self) -> str:
        """What it needs, as a phrase."""
        return f"a check that works: '{self.name}' of {self.made_by} is left out, since {self.why}; update that package, or remove it"


@dataclass(frozen=True)
class Door:
    """Everything that asked to come in: `checks` by id, and who was refused."""

    checks: Mapping[str, Installed]
    refused: tuple[Refused, ...]


@cache
def door() -> Door:
    """Looked for once a run: it means reading what every installed package says of itself."""
    return let_in(entry_points(group=GROUP))


def let_in(points: Iterable[EntryPoint]) -> Door:
    """Load each check. Who comes first keeps an id: ours, then by the package's and the entry point's name."""
    came: dict[str, Installed] = {}
    refused: list[Refused] = []
    for point in sorted(points, key=lambda p: (_package(p) != OURS, _package(p), p.name)):
        found = _load(point)
        if isinstance(found, Installed) and found.about.id in came:
            found = Refused(point.name, found.made_by, f"its id '{found.about.id}' is that of a check of {came[found.about.id].made_by}")
        if isinstance(found, Installed):
            came[found.about.id] = found
        else:
            refused.append(found)
    return Door(MappingProxyType({identity: came[identity] for identity in sorted(came)}), tuple(refused))


def _package(point: EntryPoint) -> str:
    return _named(point.dist)[0] if point.dist is not None else "an unknown package"


def _made_by(point: EntryPoint) -> str:
    return " ".join(_named(point.dist)) if point.dist is not None else _package(point)


@cache
def _named(distribution: Distribution) -> tuple[str, str]:
    """Name and version of a package. Kept, since each question reads all that the package says of itself."""
    return distribution.name, distribution.version


def _load(point: EntryPoint) -> Installed | Refused:
    try:
        check = point.load()
        said = about(check)
    except ValueError as problem:
        return Refused(point.name, _made_by(point), str(problem) or "it raises ValueError")
    except (Exception, SystemExit) as problem:  # a stranger's module may fail in any way
        return Refused(
            point.name, _made_by(point), f"it cannot be imported ({type(problem).__name__}: {' '.join(str(problem).split())[:200]})"
        )
    return Installed(check, said, _made_by(point), "" if _package(point) == OURS else _source(point.module))


def _source(module: str) -> str:
    """Hash of the module's file and of those of its package, so that a check is not taken for what it was before its author changed it."""
    home = getattr(sys.modules.get(module), "__file__", None)
    if home is None:
        return ""
    file = Path(home)
    beside = sorted(file.parent.glob("*.py")) if getattr(sys.modules[module], "__package__", "") else []
    digest = sha256()
    for path in beside or [file]:
        digest.update(f"{path.name}\0".encode() + path.read_bytes())
    return digest.hexdigest()[:16]
