"""What became of a shot from one take to the next, as one page that opens offline: both stills for each verdict, the new take's sheet beside them."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

from shotcrit.checks.finding import Stroke
from shotcrit.checks.measured import Measured
from shotcrit.clock import Span
from shotcrit.counted import counted
from shotcrit.crit.unreleased import LINE
from shotcrit.deliver.atomic import write_whole
from shotcrit.deliver.cards import STILL_PX, cards
from shotcrit.deliver.follow_words import frames_line, title_of, verdicts_line
from shotcrit.deliver.map_svg import map_svg
from shotcrit.deliver.page import Part, page_html, render, sheet_part, svg
from shotcrit.deliver.sheet_pdf import Still, data_uri, jpeg_shape, shot_stills
from shotcrit.deliver.still_svg import annotated
from shotcrit.sheet import plain
from shotcrit.sheet.build import build_sheet
from shotcrit.sheet.model import Sheet
from shotcrit.takes.verdicts import Followed, Verdict

Stills = tuple[Still | None, Still | None]
MOST_OUTLINES = 3
"""Changed parts that are outlined on a still, the largest ones (guess)."""


def follow_page(followed: Followed, *, stills: Stills, unreleased: str = LINE) -> str:
    """The whole page."""
    sheet = build_sheet(followed.new)
    old, new = followed.old.readings.movie, followed.new.readings.movie
    about = [f"{old.name}: {plain.frames_line(old)}", f"{new.name}: {plain.frames_line(new)}"]
    parts = [
        sheet_part(sheet, shot_stills(sheet, stills[1])),
        _takes(followed),
        _verdicts(followed, stills),
        *_fresh(followed, sheet, stills[1]),
    ]
    return page_html(f"{old.name} and {new.name}", "what moved and what did not", about, parts, unreleased=unreleased)


def write_follow_page(followed: Followed, path: Path, *, stills: Stills, unreleased: str = LINE) -> None:
    """Write the page to `path`, whole or not at all. Raises InputError when that cannot be."""
    write_whole(path, follow_page(followed, stills=stills, unreleased=unreleased).encode("utf-8", "replace"))


def _takes(followed: Followed) -> Part:
    said = followed.remarks or ("Both takes run alike from their first frame to their last.",)
    old, new = followed.old.readings.numbering, followed.new.readings.numbering
    drawn = svg(map_svg(followed.map, followed.changes, old, new))
    return Part("takes", "The two takes", render("follow_takes.html.j2", remarks=list(said), map=drawn))


def _verdicts(followed: Followed, stills: Stills) -> Part:
    shown = [_card(followed, number, verdict, stills) for number, verdict in enumerate(followed.verdicts, start=1)]
    return Part("verdicts", verdicts_line(followed.verdicts), render("follow.html.j2", cards=shown))


def _card(followed: Followed, number: int, verdict: Verdict, stills: Stills) -> dict[str, Any]:
    old, new = followed.old.readings.numbering, followed.new.readings.numbering
    at, now = _frames_shown(followed, verdict)
    strokes = tuple(s for s in (verdict.finding.strokes if verdict.finding else ()) if s.frame == at)
    strokes_now = tuple(s for s in (verdict.again.strokes if verdict.again else ()) if s.frame == now)
    pictures = [_still(stills[0], at, strokes, f"Old take, frame {old.shown(at)}")]
    if now is not None:
        pictures.append(_still(stills[1], now, strokes_now or _outlines(followed, verdict, now), f"New take, frame {new.shown(now)}"))
    return {
        "number": number,
        "weight": verdict.weight,
        "verdict": verdict.verdict,
        "title": title_of(verdict),
        "who": verdict.who or "",
        "frames": frames_line(verdict, old, new),
        "first": verdict.new.span.start if verdict.new else None,
        "last": verdict.new.span.last if verdict.new else None,
        "says": verdict.says,
        "asked": verdict.asked,
        "was": verdict.finding.says if verdict.finding and not verdict.asked else "",
        "pictures": [picture for picture in pictures if picture],
    }


def _frames_shown(followed: Followed, verdict: Verdict) -> tuple[int, int | None]:
    """An old frame that shows it, and the new frame that became of it."""
    finding = verdict.finding
    drawn = [s.frame for s in finding.strokes] if finding else []
    at = drawn[0] if drawn else (verdict.old.span.start + verdict.old.span.last) // 2
    at = min(at, len(followed.map.new_of) - 1)
    now = followed.map(at)
    if now is None and verdict.new is not None:
        now = (verdict.new.span.start + verdict.new.span.last) // 2
    return at, now


def _outlines(followed: Followed, verdict: Verdict, now: int) -> tuple[Stroke, ...]:
    """The parts of the picture that changed about this frame, for a note that no check stands behind."""
    if verdict.finding is not None or followed.changes is None or verdict.new is None:
        return ()
    near = [r for r in followed.changes.regions if r.new.overlap(verdict.new.span or Span(now, now + 1))]
    largest = sorted(near, key=lambda r: r.part, reverse=True)[:MOST_OUTLINES]
    return tuple(Stroke(now, "patch", r.box.outline, "changed") for r in largest)


def _still(still: Still | None, at: int, strokes: tuple[Stroke, ...], says: str) -> dict[str, Any] | None:
    if still is None:
        return None
    jpeg = still(at, STILL_PX)
    return {"svg": svg(annotated(data_uri(jpeg), jpeg_shape(jpeg), strokes, says, alone=False)), "says": says}


def _fresh(followed: Followed, sheet: Sheet, still: Still | None) -> list[Part]:
    """What the new take has and the old one had not, as any finding is shown."""
    fresh: Measured = replace(followed.new, findings=followed.new_findings)
    made = cards(fresh, sheet, still, alone=False)
    shown = [{**vars(card), "still": svg(card.still), "strip": svg(card.strip), "plan": svg(card.plan)} for card in made]
    if not shown:
        return []
    return [Part("fresh", f"{counted(len(shown), 'new finding')} that the old take had not", render("findings.html.j2", cards=shown))]
