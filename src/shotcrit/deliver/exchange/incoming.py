"""What a file from another program brings: notes and drawings on the frames of one take, checked before any of it is stored."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import get_args

from shotcrit.counted import counted
from shotcrit.crit.records import MOST_TEXT, Stroke
from shotcrit.deliver.crit_input import Drawn, NoteForDelivery, Weight
from shotcrit.deliver.exchange.counting import Counting
from shotcrit.errors import InputError

MOST_BYTES = 32 * 2**20
"""Of one file (guess: a crit with a thousand drawings takes ten million)."""
MOST_NOTES = 2_000
"""In one file (guess: forty students, fifty notes each)."""
WEIGHTS: tuple[Weight, ...] = get_args(Weight)


@dataclass(frozen=True)
class Incoming:
    """notes : frames are indices of the take; an id is '' where the file names none. drawings : those that belong to no note

    says : one sentence each on what was passed over
    """

    notes: tuple[NoteForDelivery, ...] = ()
    drawings: tuple[Drawn, ...] = ()
    says: tuple[str, ...] = ()


@dataclass(frozen=True)
class Source:
    """A format that notes or drawings come in by. endings : of file names; read : bytes, the file's name, how the take is counted"""

    name: str
    endings: tuple[str, ...]
    help: str
    read: Callable[[bytes, str, Counting], Incoming]


def text_of(data: bytes, name: str) -> str:
    """UTF-8 text. Raises InputError, one sentence."""
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as problem:
        raise InputError(f"{name} is not UTF-8 text; save it as UTF-8") from problem


def placed(first: int, last: int, count: Counting, where: str) -> tuple[int, int]:
    """Frame indices that lie in the take. Raises InputError, one sentence that says where in the file."""
    frames = len(count.clock)
    if not 0 <= first <= last < frames:
        known = f"{count.shown(0)} to {count.shown(frames - 1)}"
        raise InputError(
            f"{where} lies on {count.frames(first, last)}, and the take runs from {known}; mend the frames, or choose its take"
        )
    return first, last


def note(
    first: int, last: int, count: Counting, where: str, *, what: str, why: str = "", suggest: str = "", weight: str = "", who: str = "",
    id: str = "", at: int | None = None, drawings: Sequence[Drawn] = (),
) -> NoteForDelivery:  # fmt: skip
    """One note, checked. Raises InputError, one sentence that says where in the file."""
    first, last = placed(first, last, count, where)
    if weight and weight not in WEIGHTS:
        raise InputError(f"{where} has the weight '{weight[:40]}'; write must, polish or keep, or leave it empty")
    if long := [text for text in (what, why, suggest) if len(text) > MOST_TEXT]:
        raise InputError(f"{where} has a text of {len(long[0]):,} characters, and {MOST_TEXT:,} are the most; shorten it")
    if not (what.strip() or drawings):
        raise InputError(f"{where} says nothing; write what is asked for, or take it out")
    return NoteForDelivery(
        id=id[:64], first=first, last=last, weight=weight or "polish", what=sound_text(what), why=sound_text(why),
        suggest=sound_text(suggest),
        who=sound_text(who)[:200] or None, drawings=tuple(drawings), at=at if at is not None and 0 <= at < len(count.clock) else None,
    )  # fmt: skip


def drawn(first: int, last: int, strokes: Sequence[Stroke], count: Counting, where: str) -> Drawn:
    """One drawing, checked. Raises InputError, one sentence that says where in the file."""
    return Drawn(*placed(first, last, count, f"a drawing of {where}"), tuple(strokes))


def sound_text(text: str) -> str:
    """Without spaces around it, and without halves of letters, which no file can hold."""
    return text.encode("utf-8", "replace").decode("utf-8").strip()


def few_enough(found: int, name: str) -> None:
    """Raises InputError for a file with more notes than anybody wrote."""
    if found > MOST_NOTES:
        raise InputError(f"{name} has {counted(found, 'note')}, and {MOST_NOTES:,} are the most that are read; give those of this take")


def same_rate(rate: Fraction, count: Counting, name: str) -> None:
    """Raises InputError where a file counts its frames at another rate than the take: no frame of it could be trusted."""
    if rate != count.rate:
        raise InputError(
            f"{name} counts at {float(rate):.5g} frames a second, and the take runs at {float(count.rate):.5g}; write it again at the take's rate"
        )


def same_first_frame(told: str, count: Counting, name: str) -> None:
    """Raises InputError where a file says another number of the first frame than the take's."""
    if told != str(count.first_frame):
        raise InputError(f"{name} counts from frame {told[:20]}, and the take from {count.first_frame}; count as the take does")
