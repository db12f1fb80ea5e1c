"""How a verdict is headed, the same in table and page."""

from __future__ import annotations

from collections.abc import Sequence

from shotcrit.clock import Numbering
from shotcrit.counted import counted
from shotcrit.sheet import plain
from shotcrit.takes.verdicts import ORDER, Verdict


def verdicts_line(verdicts: Sequence[Verdict]) -> str:
    """'7 followed: 1 worse, 2 unchanged, 4 moved'."""
    if not verdicts:
        return "Nothing was found on the old take, and nothing asked of it"
    words = [v.verdict for v in verdicts]
    return f"{counted(len(words), 'thing')} followed: " + ", ".join(f"{words.count(word)} {word}" for word in ORDER if word in words)


def title_of(verdict: Verdict) -> str:
    """'hold, tail'; 'a note' where no check stands behind it."""
    if verdict.finding is not None:
        return plain.title(verdict.finding)
    return "what to keep" if verdict.weight == "keep" else "a note"


def frames_line(verdict: Verdict, old: Numbering, new: Numbering) -> str:
    """'1306 to 1312, now 1322 to 1324'."""
    was = old.text(verdict.old.span)
    if verdict.new is None:
        return f"{was}, now gone"
    now = new.text(verdict.new.span)
    return was if now == was else f"{was}, now {now}"
