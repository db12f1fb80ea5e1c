"""Who looks at what, and blinks."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import groupby

from shotcrit.checks.finding import Finding, pair_of
from shotcrit.checks.registry import kind_of
from shotcrit.readings.events import Blink, Look
from shotcrit.sheet.model import Lane, Stretch, StretchKind


def eye_lanes(looks: Sequence[Look], blinks: Sequence[Blink], findings: Sequence[Finding]) -> Iterator[Lane]:
    """One lane for each who looks or blinks. findings: those that count; one that says that a look misses parts it there."""
    for who in dict.fromkeys([*(k.who for k in looks), *(b.who for b in blinks)]):
        gazes = [g for look in looks if look.who == who for g in _gazes(look, looks, findings)]
        yield Lane("eyes", who, (*gazes, *(part for blink in blinks if blink.who == who for part in _blink(blink))))


def _blink(blink: Blink) -> tuple[Stretch, Stretch]:
    return Stretch(blink.first, blink.last + 1, "blink", who=blink.who), Stretch(blink.shut, blink.shut + 1, "lids_shut", who=blink.who)


def _gazes(look: Look, looks: Sequence[Look], findings: Sequence[Finding]) -> Iterator[Stretch]:
    """A look cut into stretches: of eye contact, of a look alone, of one that a finding says misses."""
    backs = [k for k in looks if k.who == look.at and k.at == look.who]

    def kind(row: int) -> StretchKind:
        if _missed(look, row, findings):
            return "look_missed"
        if look.proposed:
            return "look_proposed"
        met = any(k.first <= row <= k.last and not _missed(k, row, findings) for k in backs)
        return "look_met" if met else "look_alone"

    for state, rows in groupby(range(look.first, look.last + 1), key=kind):
        own = list(rows)
        yield Stretch(own[0], own[-1] + 1, state, _name(look, state), look.who, sure=not look.proposed)


def _name(look: Look, state: StretchKind) -> str:
    """Whom or what it is at; a prop by its own name, without its mark's."""
    name = f"{look.at.split('.')[0]}{'?' if look.proposed else ''}"
    return f"misses {name}" if state == "look_missed" else name


def _missed(look: Look, row: int, findings: Sequence[Finding]) -> bool:
    """Whether a finding says that the look misses: one about its owner, or about its owner and whom they look at."""
    about = {look.who, pair_of(look.who, look.at), pair_of(look.at, look.who)}
    return any(kind_of(f.check, f.kind).draws == "miss" and f.who in about and row in f.span for f in findings)
