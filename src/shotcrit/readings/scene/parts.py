"""Which node is which part: as the cast says, checked; and suggested from names."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from difflib import get_close_matches

_WORDS: tuple[tuple[str, str], ...] = (
    (r"iris|pupil", "iris_{side}"),
    (r"lid.*up|up.*lid|eyelid_?u", "lid_upper_{side}"),
    (r"lid.*(lo|bot)|(lo|bot).*lid", "lid_lower_{side}"),
    (r"brow", "brow_{side}"),
    (r"eye(ball)?$|eye(ball)?[^a-z]|eyeball", "eye_{side}"),
    (r"mouth.*corner|corner.*mouth|lip.*corner|corner.*lip|corner|mouth", "mouth_{side}"),
    (r"shoulder|clavicle|collar", "shoulder_{side}"),
    (r"hand|wrist", "hand_{side}"),
    (r"foot|ankle", "foot_{side}"),
    (r"knee|shin|lower_?leg|calf|^l?r?leg", "knee_{side}"),
    (r"lip.*up|up.*lip", "lip_upper"),
    (r"lip.*(lo|bot)|(lo|bot).*lip", "lip_lower"),
    (r"head.?top|top.?head|head_?end|headtop", "head_top"),
    (r"nose", "nose"),
    (r"chin", "chin"),
    (r"jaw", "jaw"),
    (r"neck", "neck"),
    (r"chest|upper_?chest|spine_?0?[23]|thorax", "chest"),
    (r"spine", "spine"),
    (r"hips?$|pelvis", "hips"),
    (r"head", "head"),
)
_LEFT = re.compile(r"(?:^|[^a-z])(?:l|left|lft)(?:[^a-z]|$)|left|^l(?=[A-Z])")
_RIGHT = re.compile(r"(?:^|[^a-z])(?:r|right|rgt)(?:[^a-z]|$)|right|^r(?=[A-Z])")


def suggest_parts(nodes: Iterable[str]) -> dict[str, str]:
    """Part -> node, guessed from names as riggers write them (L_eye, eye.left, LeftHand...). Only ever a suggestion; first match wins."""
    found: dict[str, str] = {}
    for node in nodes:
        part = _part_of(node.rsplit("/", 1)[-1])
        if part is not None and part not in found:
            found[part] = node
    return found


def _part_of(name: str) -> str | None:
    spaced = re.sub(r"(?<=[a-z0-9])(?=[A-Z])", "_", name.rsplit(":", 1)[-1]).lower()
    side = "left" if _LEFT.search(spaced) else "right" if _RIGHT.search(spaced) else None
    for pattern, part in _WORDS:
        if not re.search(pattern, spaced):
            continue
        if "{side}" not in part:
            return part
        return part.format(side=side) if side else None
    return None


def missing_nodes(wanted: Mapping[str, str], nodes: Iterable[str]) -> str | None:
    """One phrase on the nodes that the cast names and the scene lacks, with the nearest names; None when all are there."""
    known = list(nodes)
    lost = []
    for part, node in wanted.items():
        if node in known:
            continue
        lost.append(f"'{node}' for {part}{nearest(node, known)}")
    return f"nodes that the scene does not have: {', '.join(lost)}" if lost else None


def nearest(name: str, known: Iterable[str]) -> str:
    """' (is it 'Eye_L'?)' by the nearest of the known names, whole paths only against a path; or ''."""
    near = get_close_matches(name, [other for other in known if other.startswith("/") == name.startswith("/")], n=1)
    return f" (is it '{near[0]}'?)" if near else ""
