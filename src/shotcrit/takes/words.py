"""Verdicts in words."""

from __future__ import annotations

from shotcrit.checks.finding import Finding
from shotcrit.counted import counted, quantity, real
from shotcrit.takes.again import Again

_STILL = "Nothing changed here: picture and timing are as they were"


def finding_says(finding: Finding, again: Again) -> str:
    """One or two sentences on what became of a finding: from, to, limit."""
    was = quantity(finding.value, _short(finding.unit))
    if again.verdict == "cannot tell":
        return _cannot(again, was)
    if again.still:
        return f"{_STILL}, so it stays at {was}."
    limit = f"limit {real(finding.limit)}"
    if again.value is None:
        return f"It was {was}, and is no longer found ({limit})."
    now = quantity(again.value, _short(finding.unit))
    if again.verdict == "moved":
        left = ", and still past it" if again.finding is not None else ""
        return f"From {was} to {now} ({limit}){left}."
    if again.verdict == "worse":
        return f"Worse: from {was} to {now} ({limit})."
    return (
        f"As it was: {was} then, {now} now, which no measurement tells apart ({limit})." if now != was else f"As it was: {was} ({limit})."
    )


def _cannot(again: Again, was: str) -> str:
    return {
        "gone": f"It was {was}; its frames are not in the new take.",
        "unsure": f"It was {was} and is not found again, but which new frames are its own cannot be told surely; look at it.",
        "not measured": f"It was {was}, and could not be measured again: that needs {again.needs}.",
        "not seen": f"It was {was} and is not found again, but {again.needs} is not followed on these frames of the new take.",
        "lesser": f"It was {was}, measured on more than the new take came with; give the new take's marks or scene of {again.needs} too.",
        "painted": f"It was {was}; something lies over the new picture throughout, such as a counter, so equal frames cannot be counted there.",
        "marks": f"It was {was}; confirm the marks of {again.needs} on the new take, and it can be measured again.",
        "": f"It was {was}; no number can be told now.",
    }[again.why]


def _short(unit: str) -> str:
    """A unit without what its sign means."""
    return unit.partition(",")[0]


def asked_says(weight: str, gone: bool, touched: bool, retimed: bool, lengths: tuple[int, int], *, by_picture: bool) -> str:
    """What the map of change answers to a note that no check stands behind."""
    praised = "You praised this. " if weight == "keep" else ""
    if gone:
        return f"{praised}Its frames are not in the new take."
    timing = f"{counted(lengths[0], 'frame')} {'is' if lengths[0] == 1 else 'are'} now {counted(lengths[1], 'frame')}"
    if not by_picture:
        return f"{praised}Only the sound could be lined up, so nobody can tell whether the picture changed here."
    if touched and retimed:
        return f"{praised}The picture changed here, and its timing too: {timing}. Look at both."
    if touched:
        return f"{praised}The picture changed here; look whether it {'is still there' if weight == 'keep' else 'does what was asked'}."
    if retimed:
        return f"{praised}The timing changed here: {timing}. The pictures themselves are as they were."
    return f"{praised}{_STILL}."
