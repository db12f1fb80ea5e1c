"""A miss in an animator's words: which way it is off, and which way to turn the eyes."""

from __future__ import annotations

from shotcrit.geometry.gaze import Miss

LEAST_SAID_DEG = 0.5
"""Parts of a miss below this are not worth a word (guess: a quarter of what is seen)."""


def miss_words(gap: Miss, name: str) -> str:
    """'12.0° too high and 3.1° to screen left of Ben' as the audience sees it, the larger part first."""
    parts = []
    if abs(gap.up) >= LEAST_SAID_DEG:
        parts.append((abs(gap.up), f"{abs(gap.up):.1f}° too {'high' if gap.up > 0 else 'low'}"))
    if abs(gap.right) >= LEAST_SAID_DEG:
        parts.append((abs(gap.right), f"{abs(gap.right):.1f}° {_side(gap, name)}"))
    return " and ".join(text for _, text in sorted(parts, reverse=True)) or f"{gap.total:.1f}° off {name}"


def _side(gap: Miss, name: str) -> str:
    if gap.across_depth:
        return f"too far {'towards the lens' if gap.nearer else 'into the picture'}"
    return f"to screen {'right' if gap.right > 0 else 'left'} of {name}"


def turn_words(gap: Miss) -> str:
    """'12.0° down and 3.1° to screen right': the way back, or '' for a miss not worth a word."""
    moves = []
    if abs(gap.up) >= LEAST_SAID_DEG:
        moves.append(f"{abs(gap.up):.1f}° {'down' if gap.up > 0 else 'up'}")
    if abs(gap.right) >= LEAST_SAID_DEG:
        moves.append(f"{abs(gap.right):.1f}° {_back(gap)}")
    return " and ".join(moves)


def _back(gap: Miss) -> str:
    if gap.across_depth:
        return "into the picture" if gap.nearer else "towards the lens"
    return f"to screen {'left' if gap.right > 0 else 'right'}"


def fix(gap: Miss) -> str:
    """What to try."""
    return f"turn the eyes {turn_words(gap) or 'onto the target'}; the ghosted irises show where"
