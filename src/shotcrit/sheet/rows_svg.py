"""The sheet's rows as SVG, for paper and for the page alike."""

from __future__ import annotations

from collections.abc import Mapping

from shotcrit.sheet import acting as sheet_acting
from shotcrit.sheet import block as sheet_block
from shotcrit.sheet import found as sheet_found
from shotcrit.sheet import sound as sheet_sound
from shotcrit.sheet.block import HEAD, SVG_CSS, Block, Drawer
from shotcrit.sheet.layout import Column
from shotcrit.sheet.marks import COLUMNS
from shotcrit.sheet.model import Sheet
from shotcrit.sheet.svg import el, group

DRAWERS: Mapping[str, Drawer] = {
    "frame": sheet_block.frame_numbers,
    "picture": sheet_acting.picture,
    "sound": sheet_sound.wave,
    "words": sheet_sound.spoken,
    "phones": sheet_sound.phones,
    "air": sheet_sound.air,
    "mouth": sheet_acting.mouth,
    "eyes": sheet_acting.eyes,
    "body": sheet_acting.body,
    "found": sheet_found.found,
    "notes": sheet_block.stills,
}
HEADINGS: Mapping[str, str] = {key: column.head for key, column in COLUMNS.items()}


def block_svg(block: Block, *, alone: bool) -> str:
    """The block as one SVG, one unit a point. `alone` True carries its own style (for a PDF), False leans on the page's."""
    layers = [group(sheet_block.ground(block), class_="ground"), group(sheet_block.cut_lines(block), class_="cuts")]
    layers += [group(DRAWERS[column.kind](block, column), class_=f"col-{column.kind}") for column in block.columns]
    layers.append(group(sheet_block.cut_names(block), class_="cuts"))
    layers.append(group(sheet_block.handles(block), class_="handles"))
    return wrap_svg(layers, block.width, block.height, alone=alone)


def heads_svg(sheet: Sheet, columns: tuple[Column, ...], *, alone: bool) -> str:
    """The heads of the columns, as wide as the block below."""
    width = columns[-1].x + columns[-1].width
    labels = {**HEADINGS, "found": sheet.heads[0], "notes": sheet.heads[1]}
    return wrap_svg(sheet_block.heads(columns, labels), width, HEAD, alone=alone)


def wrap_svg(layers: list[str], width: float, height: float, *, alone: bool) -> str:
    """Layers as a whole SVG of width x height points."""
    style = [el("style", SVG_CSS)] if alone else []
    sizes = {"width": width, "height": height} if alone else {}
    return el("svg", *style, *layers, "", xmlns="http://www.w3.org/2000/svg", viewBox=f"0 0 {width:.2f} {height:.2f}", **sizes)
