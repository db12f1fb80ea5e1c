"""A take of a crit: which one is meant, its stored lines, cast and scene as a request, its measurement judged again by what people said since."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

from shotcrit.checks.measured import Measured
from shotcrit.checks.registry import run_checks
from shotcrit.crit.corrected import corrected_readings
from shotcrit.crit.records import Correction, Take
from shotcrit.crit.view import View
from shotcrit.errors import InputError
from shotcrit.measuring.request import MeasureRequest, said_from_text
from shotcrit.media.picture_files import is_sequence
from shotcrit.readings.bundle import Readings


def chosen_take(view: View, path: Path, number: int | None = None) -> Take:
    """The newest take, or take `number`. Raises InputError, one sentence, when the crit does not have it."""
    takes = sorted(view.all(Take), key=lambda take: take.number)
    if not takes:
        raise InputError(f"{path} holds no take yet; open it in the room and add a movie")
    found = takes if number is None else [take for take in takes if take.number == number]
    if not found:
        raise InputError(f"{path} has no take {number}; it has {', '.join(str(take.number) for take in takes)}")
    return found[-1]


def judged_again(measured: Measured, told: Readings, corrections: Sequence[Correction], limits: Mapping[str, float]) -> Measured:
    """The checks run again on the readings as told, with the corrections put over them."""
    readings = corrected_readings(told, corrections)
    findings, missing = run_checks(readings, limits)
    return replace(measured, readings=readings, findings=findings, not_measured=missing)


def take_request(take: Take, limits: Mapping[str, float]) -> MeasureRequest:
    """What measuring a take means. Raises InputError for lines that cannot be read."""
    lines, track, key = said_from_text(take.lines)
    # Only what has no rate of its own (a sound, a sequence) is opened at the take's.
    has_own = take.width is not None and not is_sequence(Path(take.path))
    return MeasureRequest(
        movie=Path(take.path),
        lines=lines,
        track=track,
        said_key=key,
        cast=take.cast if take.cast.marked else None,
        scene=Path(take.scene) if take.scene else None,
        sound=Path(take.sound_path) if take.sound_path else None,
        rate=None if has_own else Fraction(take.rate),
        first_frame=take.first_frame,
        count_from=None if take.counts is None else take.first_frame + take.counts.first,
        count_to=None if take.counts is None else take.first_frame + take.counts.last,
        medium=take.medium,
        limits=dict(limits),
    )
