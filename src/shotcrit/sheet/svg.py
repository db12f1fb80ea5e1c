"""A little SVG writer that cannot be tricked: every value is escaped, every number is short."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from xml.sax.saxutils import escape, quoteattr

Number = float | int
Value = str | float | int | None


def number(value: Number) -> str:
    """Two decimals at most: a hundredth of a point is finer than any printer."""
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


_UNFIT = re.compile("[^\t\n\x20-\x7e\xa0-\u2029\u202f-\u2065\u206a-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")


def clean(text: str) -> str:
    """`text` without the characters that XML cannot hold (XML 1.0, production 2) and without those that turn writing round."""
    return _UNFIT.sub("\ufffd", text)


def el(tag: str, *inside: str, **attributes: Value) -> str:
    """One element. `class_` is class, `stroke_width` is stroke-width; None leaves an attribute out. `inside` is SVG already."""
    parts = [
        f" {key.strip('_').replace('_', '-')}={quoteattr(clean(value) if isinstance(value, str) else number(value))}"
        for key, value in attributes.items()
        if value is not None
    ]
    if not inside:
        return f"<{tag}{''.join(parts)}/>"
    return f"<{tag}{''.join(parts)}>{''.join(inside)}</{tag}>"


def words(x: Number, y: Number, text: str, class_: str, size: Number, **more: Value) -> str:
    """A line of text whose baseline starts at x, y."""
    return el("text", escape(clean(text)), x=x, y=y, class_=class_, font_size=size, **more)


def title(text: str) -> str:
    """The words that a browser shows for the element round it."""
    return el("title", escape(clean(text)))


def path(points: Iterable[tuple[float, float]], *, closed: bool = False) -> str:
    """Path data through the points."""
    data = " ".join(f"{'M' if i == 0 else 'L'}{number(x)} {number(y)}" for i, (x, y) in enumerate(points))
    return data + (" Z" if closed and data else "")


def group(items: Sequence[str], **attributes: Value) -> str:
    """The items in a g, or nothing when there are none."""
    return el("g", *items, **attributes) if items else ""
