"""The one look of ink, read from ink.json, which the room's page reads too."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from importlib.resources import files
from math import radians
from typing import Any


@dataclass(frozen=True)
class Pencil:
    """How a pencil looks on a picture: brighter than on paper, for it must be seen on any frame. rim: of the thin line round it."""

    colour: str
    name: str
    rim: str


@dataclass(frozen=True)
class EvidenceLook:
    """How a kind of stroke that a check draws over a picture looks (checks/finding.py, Stroke).

    says : what it is; arrow : with barbs at its end; dash : lengths of dash and gap, empty for a full line
    """

    pencil: str
    says: str
    arrow: bool = False
    dash: tuple[float, ...] = ()


@dataclass(frozen=True)
class InkLook:
    """Lengths are in units of a picture `units` high, turns in radians.

    follow : part of the way to the next pen point that the line goes, which takes a hand's shake out of it (guess: more lags behind the pen)
    apart : pen points nearer than this are one
    step : longest straight piece that a curve is made of (guess: four thousandths of the height are seen as a curve)
    least, gain : the tip's radius is width * (least + gain * pressure)
    unpressed : the pressure that a mouse reports throughout; a line of it thins where the hand is quick:
        pressure follows the pace by `rate` a point, and a way of `reach` widths from point to point is quickest
    on, off : dash and gap, times the line's usual thickness
    barb, turn : length of an arrow's barbs, and how far they turn off the shaft
    ring : radius of the ring where a sight line begins
    text, text_rim : height of letters, times the width; thickness of the line round them, times that height
    rim, rim_opacity : thickness of the thin line round every stroke, both sides together
    """

    units: float
    follow: float
    apart: float
    step: float
    least: float
    gain: float
    unpressed: float
    rate: float
    reach: float
    on: float
    off: float
    barb: float
    turn: float
    ring: float
    text: float
    text_rim: float
    rim: float
    rim_opacity: float
    pencils: Mapping[str, Pencil]
    evidence: Mapping[str, EvidenceLook]


def ink_look(data: Mapping[str, Any]) -> InkLook:
    """The look that the contents of ink.json describe."""
    rims = data["rim"]
    return InkLook(
        units=data["units"],
        follow=data["follow"],
        apart=data["apart"],
        step=data["step"],
        least=data["tip"]["least"],
        gain=data["tip"]["gain"],
        unpressed=data["unpressed"]["pressure"],
        rate=data["unpressed"]["rate"],
        reach=data["unpressed"]["reach"],
        on=data["dash"]["on"],
        off=data["dash"]["off"],
        barb=data["arrow"]["barb"],
        turn=radians(data["arrow"]["turn_deg"]),
        ring=data["ring"],
        text=data["text"]["size"],
        text_rim=data["text"]["rim"],
        rim=rims["wide"],
        rim_opacity=rims["opacity"],
        pencils={key: Pencil(p["colour"], p["name"], rims[p["rim"]]) for key, p in data["pencils"].items()},
        evidence={kind: EvidenceLook(**{**row, "dash": tuple(row.get("dash", ()))}) for kind, row in data["evidence"].items()},
    )


LOOK = ink_look(json.loads(files("shotcrit.sheet").joinpath("ink.json").read_text(encoding="utf-8")))
