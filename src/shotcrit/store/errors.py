"""What can go wrong with a crit, each as one sentence."""

from __future__ import annotations

from pathlib import Path

from sqlalchemy.exc import DBAPIError

from shotcrit.errors import InputError, ShotcritError


class StoreError(ShotcritError):
    """The crit cannot be written just now (disk full, folder read-only); nothing was changed."""


class StoreBusy(ShotcritError):
    """The crit cannot be reached just now; the same again a little later may do."""


class StoreClosed(ShotcritError):
    """The crit was closed already."""


class Blocked(InputError):
    """An edit would leave other things without what they belong to."""


def translated(problem: DBAPIError, name: str) -> ShotcritError:
    """The sentence for a database's complaint."""
    said = str(problem.orig).lower()
    if "disk is full" in said or "disk i/o" in said or "no space" in said:
        return StoreError(f"{name} cannot be saved, the disk is full or failing; make room, then do it again")
    if "readonly" in said or "read-only" in said or "unable to open" in said:
        return StoreError(f"{name} cannot be saved, the file or its folder may not be written; copy it to a folder of your own")
    if "locked" in said or "busy" in said:
        return StoreBusy(f"{name} is being written by another program; try again in a moment")
    if "foreign key" in said:
        return Blocked("other things belong to what this would take away; take those back first")
    if "malformed" in said or "not a database" in said or "corrupt" in said:
        return corrupt(name)
    return StoreBusy(f"{name} cannot be used just now ({said.splitlines()[0]}); try again")


def corrupt(name: str | Path) -> InputError:
    return InputError(f"{name} is damaged and cannot be opened; restore it from a copy")
