"""Dead frames: the picture, or a character's region in it, repeats the frame before. See readings/picture/stillness/still.py."""

from __future__ import annotations

from shotcrit.checks.about import Column, Kind, Limits, Needs
from shotcrit.checks.finding import COMMON, Finding, Level, Limit, NotMeasured, Result, Stroke, Weight
from shotcrit.checks.hold.figure import figure_in
from shotcrit.checks.standing import stands
from shotcrit.clock import Span, runs
from shotcrit.counted import counted
from shotcrit.readings.bundle import PictureReadings, Readings
from shotcrit.readings.shots import shots_of

ID = "hold"
TITLE = "Holds and dead frames"
HELP = "Finds frames that repeat the one before: at the head or tail of a shot, inside it, or in one character while the rest moves on."
NAME = "hold"
VERSION = 2
COLUMN: Column = "picture"
KINDS = (
    Kind("head", "head", "still"),
    Kind("tail", "tail", "still"),
    Kind("inside", "inside", "still"),
    Kind("region", "region", "still"),
    Kind("exit", "exit"),
)
NEEDS = Needs(("pictures",))

_SEEN = f"{COMMON}: any complete standstill in CG reads as dead, and a quarter of a second of it at a shot's end is seen at once"
_LEFT = f"{COMMON}: a held drawing is a tool of the craft; guess: the length, up to a second at 24"
LIMITS = (
    Limit("ends", 1, "frames", _SEEN, "Dead frames allowed at the head or tail of a CG shot."),
    Limit("inside", 3, "frames", f"{COMMON}: in CG a standstill of four frames inside a shot shows", "Dead frames allowed inside a CG shot."),
    Limit("drawn", 23, "frames", _LEFT,
          "Dead frames allowed anywhere in a drawn shot, where a held drawing is a tool of the craft."),
    Limit("exit_share", 0.5, "of full speed", "guess: an eased start reaches half of its speed on its second frame or later",
          "Part of the full speed that the first frame after a hold may have."),
    Limit("exit_hold", 4, "frames", f"{COMMON}: shorter stops are part of a movement", "Dead frames before an exit is judged."),
    Limit("region_must", 6, "frames", "6 frames is the shortest that a hold registers (AWN Toon Institute, Timing, undated, awn.com/tooninstitute)",
          "Dead frames at the head or tail of a CG shot from which a frozen region, whole picture aside, holds the shot back."),
)  # fmt: skip

FULL_SPEED_WITHIN = 6
"""frames after a hold in which the full speed is looked for (guess: a quarter of a second)."""
LEAST_EXIT = 0.003
"""of the picture's width a frame; slower starts are no jump (guess: 6 px of 1920)."""
LONG = 9
"""frames: 0.36 s at 24, the longest single freeze that viewers accept (van Kester et al. 2011, doi:10.1117/12.873390)."""


def run(readings: Readings, limits: Limits) -> Result:
    """Findings of kinds head, tail, inside, region, exit. value: number of dead frames, 'exit': speed as a part of the full speed."""
    picture = readings.picture
    if picture is None:
        return Result(not_measured=(NotMeasured(ID, None, "pictures"),))
    if len(readings.clock) < 2:
        return Result(not_measured=(NotMeasured(ID, None, "at least two pictures"),))
    if readings.medium == "blocking":
        return Result()  # a stepped pass stands and jumps on purpose
    found: list[Finding] = []
    dead = picture.dead & picture.acted
    for first, stop in ((shot.start, shot.stop) for shot in shots_of(readings)):
        for hold in runs(dead[first:stop]):
            span = Span(first + hold.start, first + hold.stop)
            found += _judge(readings, span, (first, stop), limits)
            found += _exit(readings, picture, span, stop, limits)
    found += _regions(readings, picture, limits)
    return Result(tuple(found))


_NOBODY: tuple[str | None, Level] = None, 0


def _place(span: Span, shot: tuple[int, int]) -> str:
    """head, tail or inside. A shot's first frame cannot repeat anything, so a head starts on its second."""
    if span.stop == shot[1]:
        return "tail"
    return "head" if span.start <= shot[0] + 1 else "inside"


def _allowed(readings: Readings, kind: str, limits: Limits) -> float:
    if readings.medium == "drawn":
        return limits["drawn"]
    return limits["inside"] if kind == "inside" else limits["ends"]


def _basis(kind: str, readings: Readings) -> str:
    name = "drawn" if readings.medium == "drawn" else "inside" if kind == "inside" else "ends"
    return next(limit.basis for limit in LIMITS if limit.name == name)


def _judge(readings: Readings, span: Span, shot: tuple[int, int], limits: Limits) -> list[Finding]:
    kind = _place(span, shot)
    limit = _allowed(readings, kind, limits)
    if len(span) <= limit:
        return []
    whole = len(span) == shot[1] - shot[0] - 1
    # A shot without any movement may be a card or a plate: only a person can tell.
    weight: Weight = "polish" if kind == "inside" or whole or readings.medium == "drawn" else "must"
    says = "Nothing moves in this shot." if whole else _stands(readings, span, kind)
    suggest = {
        "head": "Start the movement before the first frame, so that the shot opens already alive.",
        "tail": "Keep something going to the last frame: let the move settle later, a breath, a blink, a slow drift of the head.",
        "inside": "Turn it into a moving hold: drift the head or chest a little, let a breath or a blink carry it.",
    }[kind]
    if len(span) >= LONG and kind == "inside":
        says = says[:-1] + ", longer than viewers accept of a freeze."
    return [
        Finding(ID, kind, None, span, float(len(span)), "frames", limit, weight, _confidence(readings, len(span)), says, suggest, _basis(kind, readings),
                causes=(stands(None, span),))
    ]  # fmt: skip


def _stands(readings: Readings, span: Span, kind: str) -> str:
    """'The last 7 frames hold still.'"""
    frames, one = counted(len(span), "frame"), len(span) == 1
    if kind == "head":
        return f"The shot opens on a still: the next {'frame repeats' if one else f'{frames} repeat'} the first."
    if kind == "tail":
        return f"The last {'frame holds' if one else f'{frames} hold'} still."
    return f"Everything stops for {frames} after {readings.numbering.shown(span.start - 1)}."


def _confidence(readings: Readings, frames: int) -> float:
    """Surer with every frame, less sure in noisy pictures: a rule, not a measured probability."""
    noise = readings.picture.noise if readings.picture else 0.0
    steady = 1 / (1 + max(0.0, noise if noise == noise else 0.0) / 4)
    return round(min(0.99, (1 - 0.5 ** (frames + 1)) * (0.6 + 0.4 * steady)), 2)


def _exit(readings: Readings, picture: PictureReadings, span: Span, stop: int, limits: Limits) -> list[Finding]:
    """From dead still to full speed in one frame."""
    if len(span) < limits["exit_hold"] or span.stop >= stop or not picture.acted[span.stop]:
        return []
    after = picture.movement.values[span.stop : min(stop, span.stop + FULL_SPEED_WITHIN)]
    full = float(after.max()) if len(after) > 2 else float("nan")
    least = LEAST_EXIT * (readings.movie.width or 0)
    if not full >= least or float(after[0]) <= limits["exit_share"] * full:
        return []
    share = float(after[0]) / full
    first = Span(span.stop, span.stop + 1)
    speed = f"{100 * share:.0f} % of its full speed" if share < 0.995 else "full speed"
    says = f"The move leaves the hold at {speed} on its first frame, {readings.numbering.text(first)}."
    suggest = "Ease out of the hold over two or three frames, or put a small anticipation before it."
    basis = f"{COMMON}: a start needs an ease or an anticipation; guess: the share"
    return [
        Finding(ID, "exit", None, first, round(share, 2), "of full speed", limits["exit_share"], "polish", 0.6, says, suggest, basis)
    ]  # fmt: skip


def _regions(readings: Readings, picture: PictureReadings, limits: Limits) -> list[Finding]:
    """Frozen regions in a picture that moves on. Where marks are known in one, they name it, and tell a slow drift from a standstill."""
    found = []
    edges = [(shot.start, shot.stop) for shot in shots_of(readings)]
    for frozen in picture.frozen:
        span = frozen.span
        shot = next((s for s in edges if s[0] <= span.start < s[1]), None)
        if shot is None:
            continue
        kind = _place(span, shot)
        limit = limits["drawn"] if readings.medium == "drawn" else limits["inside"]
        if len(span) <= limit:
            continue
        figure = figure_in(readings, picture, span, frozen.box)
        if figure is not None and figure.moves:
            continue
        outline = Stroke(span.start, "patch", frozen.box.outline, f"still for {counted(len(span), 'frame')}")
        # A region that no marks name may be anything, and a short stop somebody who rightly rests: neither holds a shot back.
        light = figure is None or kind == "inside" or readings.medium == "drawn" or len(span) < limits["region_must"]
        weight: Weight = "polish" if light else "must"
        who, level = (figure.who, figure.level) if figure else _NOBODY
        name = who or f"The figure {frozen.box.where}"
        says = f"{name} holds still for {counted(len(span), 'frame')} while everything else moves on."
        suggest = "Keep the one who is not leading alive: a breath, a slow drift, a blink, eyes that follow."
        confidence = round(0.8 * _confidence(readings, len(span)), 2)
        found.append(
            Finding(ID, "region", who, span, float(len(span)), "frames", limit, weight, confidence, says, suggest, _basis("inside", readings), level,
                    strokes=(outline,), causes=(stands(who, span),) if who else ())
        )  # fmt: skip
    return found
