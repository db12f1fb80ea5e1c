"""Errors that reach a person: one sentence that names the file, what is wrong and what to do."""

from __future__ import annotations


class ShotcritError(Exception):
    """Root of every error a user can cause. Its text is one sentence; the command line exits with status 2."""


class MediaError(ShotcritError):
    """A movie, picture sequence or sound cannot be read."""


class InputError(ShotcritError):
    """Lines, cast, scene, crit or an option is not what it should be."""


class ReadingError(ShotcritError):
    """A reading was asked of data that does not fit together (lengths, clocks)."""


class MissingExtra(ShotcritError):
    """An optional library is needed; the text names the command that installs it."""


class OutOfMemory(ShotcritError):
    """Work came to the end of the memory that it may take."""


class TooLong(ShotcritError):
    """Work took longer than it may."""


class Unforeseen(Exception):
    """What nobody foresaw. Its text is one sentence that names the report of it (see unforeseen.py); the command line exits with status 70."""


class Died(Unforeseen):
    """Work elsewhere ended without an answer. cause : the signal's name or the exit status, as people write it"""

    def __init__(self, says: str, cause: str = "") -> None:
        super().__init__(says, cause)
        self.cause = cause

    def __str__(self) -> str:
        return str(self.args[0])


class Stopped(Exception):
    """The user asked to stop. Not an error: what was finished is kept and the next run picks it up."""
