"""Sending a stored crit without the room."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

from shotcrit.checks.registry import run_checks
from shotcrit.crit.corrected import corrected_readings
from shotcrit.crit.limits import own_limits
from shotcrit.crit.records import Correction, Take
from shotcrit.crit.review import review_of
from shotcrit.crit.view import View
from shotcrit.errors import InputError
from shotcrit.measuring.measure import Workbench, measure, open_medium
from shotcrit.measuring.review import Sent, send_review
from shotcrit.measuring.take import take_request
from shotcrit.store.crit_file import CritFile


def send_crit(path: Path, to: Path, *, kinds: Sequence[str], number: int | None, bench: Workbench) -> Sent:
    """Write the deliveries of one take of a crit: the newest take, or take `number`.

    Raises InputError or StoreError, one sentence, for a crit that cannot be read, a take that is not in it, or a movie that is gone.
    """
    if not path.exists():
        raise InputError(f"{path} does not exist; give a crit that was begun in the room")
    with CritFile.open(path) as crit, crit.view() as view:
        take = chosen_take(view, path, number)
        review = review_of(view, take.id, crit_id=crit.crit_id(), reviewer="")
        corrections = view.all(Correction, take=take.id)
        limits = own_limits(view)
    request = take_request(take, limits)
    movie = open_medium(request, bench.progress)
    if movie.info.sha256 != take.sha256:
        raise InputError(f"{take.path} is another file than the one reviewed; open {path} in the room and point it to the right one")
    measured = measure(request, bench, movie=movie)
    if corrections:
        readings = corrected_readings(measured.readings, corrections)
        findings, missing = run_checks(readings, request.limits)
        measured = replace(measured, readings=readings, findings=findings, not_measured=missing)
    return send_review(review, measured, movie, kinds, to, cache=bench.cache, progress=bench.progress)


def chosen_take(view: View, path: Path, number: int | None) -> Take:
    """The newest take, or take `number`. Raises InputError, one sentence, when the crit does not have it."""
    takes = sorted(view.all(Take), key=lambda take: take.number)
    if not takes:
        raise InputError(f"{path} holds no take yet; open it in the room and add a movie")
    if number is None:
        return takes[-1]
    found = [take for take in takes if take.number == number]
    if not found:
        raise InputError(f"{path} has no take {number}; it has {', '.join(str(take.number) for take in takes)}")
    return found[-1]
