"""The cast as a careful person would place it: a few clicks a mark, each rounded as a click is, on the frames that teach the most."""

from __future__ import annotations

import itertools
from collections.abc import Mapping

import numpy as np

import puppets
import story
import truth
from acting import Performance
from rig import SIDES
from takes import Take

CLICK_PX = 0.5
"""Standard deviation of a click, px of the 1280 wide picture."""
SIZE = (1280, 720)
FACE = ("nose", "chin", "head_top", "mouth_left", "mouth_right", "lip_upper", "lip_lower")
EYES = (*tuple(f"{m}_{s}" for s, _ in SIDES for m in ("eye", "iris", "lid_upper", "lid_lower", "brow")), "eye_left_edge", "eye_right_edge")
BODY = {
    0: {
        "Oona": ("chest", "shoulder_left", "shoulder_right", "hips", "hand_left", "knee_left", "knee_right"),
        "Bram": ("chest", "shoulder_left", "hips", "hand_right", "hand_left", "knee_left"),
    },
    1: {"Bram": ("chest", "hand_right")},
    2: {"Oona": ("chest", "shoulder_left", "shoulder_right"), "Bram": ("hand_right",)},
}
"""What of the body is seen in each shot."""
SPEAKERS = {0: ("Oona",), 1: ("Bram",), 2: ("Oona",)}
"""Whose face is turned to the camera in each shot; the other's is not marked there, save for the eyes' place."""
SCENE = {
    **{m: m for m in ("mouth_left", "mouth_right", "lip_upper", "lip_lower", "nose", "chin", "head_top", "hips", "head", "neck", "spine")},
    "chest": "chest_mark",
    **{f"{p}_{s}": f"{p}_{s}" for p in ("eye", "iris", "brow", "shoulder", "foot", "knee") for s, _ in SIDES},
    **{f"hand_{s}": f"palm_{s}" for s, _ in SIDES},
    **{f"lid_{p}_{s}": f"lidmark_{p}_{s}" for p in ("upper", "lower") for s, _ in SIDES},
}  # fmt: skip
BLINK_FRAMES = 9


class _Clicks:
    """Places marks with a seeded hand."""

    def __init__(self, known: Mapping[str, np.ndarray], seed: int) -> None:
        self.known, self.rng = known, np.random.default_rng(seed)

    def place(self, owner: str, mark: str, frames: list[int]) -> list[dict]:
        out = []
        for i in sorted(set(frames)):
            xy = self.known[f"{owner}.mark.{mark}"][i].astype(float) + self.rng.normal(size=2) * CLICK_PX / np.asarray(SIZE)
            if np.isfinite(xy).all() and (np.abs(xy - 0.5) < 0.52).all():
                out.append({"frame": story.FIRST_SHOWN + i, "x": round(float(xy[0]), 5), "y": round(float(xy[1]), 5)})
        return out


def teaching_frames(known: Mapping[str, np.ndarray], who: str, first: int, last: int) -> list[int]:
    """Shut (at rest and in speech), most open (twice, apart), widest and roundest mouth of one shot."""
    opening, width = known[f"{who}.opening"][first : last + 1], known[f"{who}.width"][first : last + 1]
    shut = np.flatnonzero(opening < 0.01)
    calm = int(shut[np.argmin(np.abs(width[shut] - 1))]) if len(shut) else int(np.argmin(opening))
    wide_open = int(np.argmax(opening))
    away = np.where(np.abs(np.arange(len(opening)) - wide_open) > 12, opening, 0)
    picks = [
        calm,
        int(shut[len(shut) // 2]) if len(shut) else calm,
        wide_open,
        int(np.argmax(away)),
        int(np.argmax(width)),
        int(np.argmin(width)),
    ]
    return sorted({first + p for p in picks})


def straight_frame(known: Mapping[str, np.ndarray], take: Take, who: str, first: int, last: int) -> int:
    """A frame with open lids on which the eyes look most nearly straight out of the head: iris nearest to the eye's centre in the picture."""
    off = np.sum([np.linalg.norm((known[f"{who}.mark.iris_{s}"] - known[f"{who}.mark.eye_{s}"]) * SIZE, axis=1) for s, _ in SIDES], axis=0)
    frames = np.arange(len(off))
    blinks = [take.shown(b) - story.FIRST_SHOWN for b in story.BLINKS[who]]
    shut = np.array([any(0 <= f - b < BLINK_FRAMES for b in blinks) for f in frames])
    allowed = (frames >= first + 2) & (frames <= last - 2) & ~shut
    return int(frames[allowed][np.argmin(off[allowed])])


def cast(take: Take, act: Performance, known: Mapping[str, np.ndarray], shots: list[dict]) -> dict:
    clicks = _Clicks(known, 40)
    people = [_person(who, take, clicks, known, shots) for who in puppets.LOOKS]
    lantern: dict[str, list[dict]] = {"handle": [], "grip": [], "hood": [], "flame": []}
    for shot in shots:
        middle = (shot["first"] + shot["last"]) // 2
        for mark in lantern:
            lantern[mark] += clicks.place("lantern", mark, [shot["first"] + 8, middle])
    prop = {"name": "lantern", "marks": lantern, "scene": {"handle": "Lantern_handle", "grip": "Lantern", "flame": "Lantern_flame"}}
    frames = [story.FIRST_SHOWN, story.FIRST_SHOWN + take.n - 1]
    return {
        "characters": people, "props": [prop],
        "contacts": [{"a": "Bram.hand_right", "b": "lantern.handle", "first": frames[0], "last": frames[1]}],
        "looks": _looks(take, shots),
        "cameras": [{"node": s["camera"], "first": story.FIRST_SHOWN + s["first"], "last": story.FIRST_SHOWN + s["last"]} for s in shots],
        "metres_per_unit": 1.0,
    }  # fmt: skip


def _person(who: str, take: Take, clicks: _Clicks, known: Mapping[str, np.ndarray], shots: list[dict]) -> dict:
    marks: dict[str, list[dict]] = {}
    for k, shot in enumerate(shots):
        first, last = shot["first"], shot["last"]
        wanted: dict[str, list[int]] = {}
        if who in SPEAKERS[k]:
            teach = teaching_frames(known, who, first, last)
            wanted |= dict.fromkeys(FACE, teach)
            straight = straight_frame(known, take, who, first, last)
            wanted |= {key: [straight, first + 3] for key in EYES}
        elif who == "Bram":
            wanted |= {
                key: [first + 5, (first + last) // 2]
                for key in (("eye_left", "nose", "head_top", "chin") if k == 2 else ("eye_right", "eye_left", "nose", "head_top"))
            }
        wanted |= {key: [first + 8, (first + last) // 2] for key in BODY[k].get(who, ())}
        for mark, frames in wanted.items():
            marks.setdefault(mark, []).extend(clicks.place(who, mark, frames))
    marks = {m: rows for m, rows in marks.items() if rows}
    return {"name": who, "marks": marks, "scene": {part: f"{who}_{node}" for part, node in SCENE.items()}}


def _looks(take: Take, shots: list[dict]) -> list[dict]:
    """What the story wants; a look ends where the next begins, and at a cut. In the wide shot the lantern is not a look that anybody would list."""
    out = []
    cuts = [story.FIRST_SHOWN + s["first"] for s in shots]
    for who, looks in story.LOOKS.items():
        rows = [(take.shown(f), at) for f, at in looks]
        ends = [r[0] - 1 for r in rows[1:]] + [story.FIRST_SHOWN + take.n - 1]
        for (first, at), last in zip(rows, ends, strict=True):
            edges = [first, *(c for c in cuts if first < c <= last), last + 1]
            for a, b in itertools.pairwise(edges):
                if (
                    _seen(who, a, shots)
                    and at not in story.POINTS
                    and not (at in ("grip", "flame") and truth.shot_of(shots, a - story.FIRST_SHOWN) == 0)
                ):
                    out.append(
                        {
                            "who": who,
                            "at": {"lens": "camera", "flame": "lantern.flame", "grip": "lantern.grip"}.get(at, at),
                            "first": a,
                            "last": b - 1,
                        }
                    )
    return sorted(out, key=lambda r: (r["first"], r["who"]))


def _seen(who: str, shown: int, shots: list[dict]) -> bool:
    return who != "Oona" or truth.shot_of(shots, shown - story.FIRST_SHOWN) != 1
