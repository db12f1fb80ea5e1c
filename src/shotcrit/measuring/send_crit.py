"""Sending a stored crit without the room."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from shotcrit.crit.limits import own_limits
from shotcrit.crit.records import Correction
from shotcrit.crit.review import review_of
from shotcrit.errors import InputError
from shotcrit.measuring.measure import Workbench, measure, open_medium
from shotcrit.measuring.review import Sent, send_review
from shotcrit.measuring.take import chosen_take, judged_again, take_request
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
        measured = judged_again(measured, measured.readings, corrections, request.limits)
    return send_review(review, measured, movie, kinds, to, cache=bench.cache, progress=bench.progress)
