"""How parts of bodies and props are called in sentences."""

from __future__ import annotations

from collections.abc import Sequence

NAMES = {"head_top": "head", "nose": "head", "chin": "chin"}
"""Marks that stand for a part with another name."""


def part_name(mark: str) -> str:
    """'right hand', 'head', 'handle' for 'hand_right', 'head_top', 'handle'."""
    part, _, side = mark.rpartition("_")
    if side in ("left", "right") and part:
        return f"{side} {part}".replace("_", " ")
    return NAMES.get(mark, mark.replace("_", " "))


def whose(who: str) -> str:
    """'Bram' of a name, 'the lantern' of a thing."""
    return f"the {who}" if who[:1].islower() else who


def part_of(who: str, mark: str) -> str:
    """'Bram's right hand', 'the lantern's handle'."""
    return f"{whose(who)}'s {part_name(mark)}"


def words_of(mark: str) -> str:
    """The same of a mark as the cast writes it, 'Bram.hand_right'."""
    who, _, name = mark.partition(".")
    return part_of(who, name)


def listed(words: Sequence[str]) -> str:
    """'a', 'a and b', 'a, b and c'."""
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} and {words[-1]}"
