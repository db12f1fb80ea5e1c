"""A miss in an animator's words: which way it is off, as far as its error lets that be said, and which way to turn the eyes."""

from __future__ import annotations

from dataclasses import dataclass

from shotcrit.checks.sure import BAR, about
from shotcrit.geometry.gaze import Miss

LEAST_SAID_DEG = 1.0
"""Parts of a miss below this are not worth a word (guess: half of what is seen)."""
LENS = "the lens"
PARTS = 3.0
"""A lesser part of a miss is told where it is more than this part of the larger one (guess)."""
Move = tuple[float, float]
"""To screen right and up."""


@dataclass(frozen=True)
class Seen:
    """A miss as it is to be told. target : what should be looked at, as people call it; face : whether it is one; error : one standard error, degrees"""

    gap: Miss
    target: str
    face: bool
    error: float

    @property
    def parts(self) -> list[tuple[str, float]]:
        """'up' and 'right' with their degrees, the larger first; what is small or lost in its error is left out."""
        both = sorted((("up", self.gap.up), ("right", self.gap.right)), key=lambda part: -abs(part[1]))
        most = abs(both[0][1])
        least = max(LEAST_SAID_DEG, BAR * self.error, most / PARTS)
        return [part for part in both if abs(part[1]) >= least] or both[:1]


def target_words(at: str) -> str:
    """A look's target as people call it: 'the lens', 'Bram', 'the lantern's handle' for 'lantern.handle'."""
    if at == "camera":
        return LENS
    owner, _, mark = at.partition(".")
    thing = f"{owner}'s {mark.replace('_', ' ')}" if mark else owner
    return f"the {thing}" if owner[:1].islower() and not thing.startswith("the ") else thing


def looks_words(who: str, seen: Seen) -> str:
    """'Oona looks over Bram's head, about 12 degrees high'; 'Oona looks well past Bram to screen left' where no number can be told."""
    (first, size), *rest = seen.parts
    number = about(size, seen.error, "degree")
    off = f"{number} {_way(first, size, seen.gap) if first == 'up' else 'off'}"
    text = f"{who} looks {_place(first, size, seen)}, {off}" if number else f"{who} looks well {_place(first, size, seen)}"
    return text + "".join(f" and {about(more, seen.error, 'degree')} {_to(part, more, seen.gap)}".replace("  ", " ") for part, more in rest)


def _place(part: str, size: float, seen: Seen) -> str:
    if part == "right":
        return f"past {seen.target} {_to(part, size, seen.gap)}"
    if size > 0:
        return f"over {seen.target}'s head" if seen.face else f"over {seen.target}"
    return f"below {seen.target}'s eyes" if seen.face else f"below {seen.target}"


def _way(part: str, size: float, gap: Miss) -> str:
    """'high', 'low', 'screen left', 'the lens' ..."""
    if part == "up":
        return "high" if size > 0 else "low"
    if gap.across_depth:
        return "the lens" if gap.nearer else "the picture"
    return f"screen {'right' if size > 0 else 'left'}"


def _to(part: str, size: float, gap: Miss) -> str:
    way = _way(part, size, gap)
    return {"high": way, "low": way, "the lens": "towards the lens", "the picture": "into the picture"}.get(way, f"to {way}")


def turn_words(who: str, seen: Seen, move_px: Move | None) -> str:
    """What to try. move_px : how far the irises have to go on the picture, px to screen right and up; None where no ring is drawn"""
    if move_px is None:
        return f"Turn {who}'s eyes {turns(seen)}"
    ways = _sides(move_px, [part for part, _ in seen.parts], seen)
    return f"Bring both irises {' and '.join(ways)}, to the rings"


def _sides(move_px: Move, parts: list[str], seen: Seen) -> list[str]:
    by_part = {"right": (move_px[0], "to screen right", "to screen left"), "up": (move_px[1], "up", "down")}
    told = sorted((by_part[part] for part in parts), key=lambda move: -abs(move[0]))
    sure = all(about(size, seen.error, "degree") for _, size in seen.parts)
    said = [f"{plus if px > 0 else minus}{f' about {abs(px):.0f} px' if sure else ''}" for px, plus, minus in told if abs(px) >= 0.5]
    return said or ["a little"]


def turns(seen: Seen) -> str:
    """'down about 12 degrees and to screen right': the way back."""
    return " and ".join(f"{_back(part, size, seen.gap)} {about(size, seen.error, 'degree')}".rstrip() for part, size in seen.parts)


def _back(part: str, size: float, gap: Miss) -> str:
    if part == "up":
        return "down" if size > 0 else "up"
    if gap.across_depth:
        return "into the picture" if gap.nearer else "towards the lens"
    return f"to screen {'left' if size > 0 else 'right'}"
