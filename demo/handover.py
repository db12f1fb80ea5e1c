# ruff: noqa: E501 -- one curve or one fault a line reads best
"""What goes with a movie: lines, cast, key, the scene as USD, and the truth."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from pathlib import Path

import numpy as np

import castfile
import puppets
import story
import truth
import usd
from acting import Performance
from takes import Take
from voices import Phone


def lines() -> dict[int, tuple[str, str]]:
    """line -> (who, words)."""
    out: dict[int, tuple[str, str]] = {}
    for phrase in story.PHRASES:
        who, before = out.get(phrase.line, (phrase.who, ""))
        out[phrase.line] = (who, f"{before} {phrase.text}".strip())
    return out


def _stamp(seconds: float) -> str:
    return f"{int(seconds // 3600):02d}:{int(seconds // 60 % 60):02d}:{seconds % 60:06.3f}"


def captions(take: Take, phones: Mapping[int, Sequence[Phone]]) -> str:
    """WebVTT with voice tags; cues open a little early and close a little late, as captions do."""
    out = ["WEBVTT", ""]
    for line, (who, words) in lines().items():
        start, end = take.seconds(phones[line][0].start_s) - 0.12, take.seconds(phones[line][-1].end_s) + 0.15
        out += [f"{_stamp(start)} --> {_stamp(end)}", f"<v {who}>{words}", ""]
    return "\n".join(out)


def spoken(take: Take, phones: Mapping[int, Sequence[Phone]]) -> list[dict]:
    """Festival's own phone times, in seconds of the take."""
    return [
        {
            "line": line,
            "who": lines()[line][0],
            "phone": p.name,
            "start_s": round(take.seconds(p.start_s), 4),
            "end_s": round(take.seconds(p.end_s), 4),
        }
        for line, said in phones.items()
        for p in said
    ]


def breaths(take: Take) -> list[dict]:
    return [
        {
            "who": b.who,
            "start_s": round(take.seconds(b.start), 4),
            "end_s": round(take.seconds(b.start + b.length), 4),
            "acted": b.start not in take.faults.unacted_breaths,
        }
        for b in story.BREATHS
    ]


def key(take: Take, phones: Mapping[int, Sequence[Phone]], shots: list[dict]) -> dict:
    """Everything that was planted, and the times that are known because they were made."""
    return {
        "take": take.name, "first_frame": story.FIRST_SHOWN, "frames": take.n, "rate": "24/1",
        "cuts": [story.FIRST_SHOWN + s["first"] for s in shots[1:]],
        "planted": take.key,
        "repaired": ["contact slip", "breath missing", "lipsync closure of 'mine'", "eyeline off_target", "lipsync offset"] if take.name == "take2" else [],
        "retimed": {"story_frames": list(story.RETIMED), "stretched_to": 2 * (story.RETIMED[1] - story.RETIMED[0])} if take.name == "take2" else None,
        "breaths": breaths(take), "phones": spoken(take, phones),
        "blinks": {who: [take.shown(b) for b in starts if not any(f <= b <= la for w, f, la in take.faults.no_blinks if w == who)] for who, starts in story.BLINKS.items()},
        "looks": {who: [{"from": take.shown(f), "at": at} for f, at in looks] for who, looks in story.LOOKS.items()},
    }  # fmt: skip


def write(out: Path, answers: Path, stem: str, take: Take, act: Performance, data: dict, phones: Mapping[int, Sequence[Phone]]) -> None:
    """All but the movie and the GLB."""
    text = "\n".join(f"{who}: {words}" for who, words in lines().values()) + "\n"
    (out / f"{stem}.lines.txt").write_text(text, encoding="utf-8")
    (out / f"{stem}.lines.vtt").write_text(captions(take, phones), encoding="utf-8")
    known = truth.everything(act, data["shots"])
    cast = castfile.cast(take, act, known, data["shots"])
    (out / f"{stem}.cast.json").write_text(json.dumps(cast, indent=1) + "\n", encoding="utf-8")
    (out / f"{stem}.key.json").write_text(json.dumps(key(take, phones, data["shots"]), indent=1) + "\n", encoding="utf-8")
    usd.write(out / f"{stem}.usdc", puppets.rig(), act.pose, first_frame=story.FIRST_SHOWN)
    answers.mkdir(parents=True, exist_ok=True)
    np.savez_compressed(answers / f"{stem}.npz", **known)
