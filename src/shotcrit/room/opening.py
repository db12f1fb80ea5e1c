"""Starting a review: a crit for a movie, with its first take and the reviewer's own settings."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from shotcrit.crit.edits import Edit, altered, update
from shotcrit.crit.records import Shot, Take
from shotcrit.crit.recount import counts_of, recounted, shifted
from shotcrit.crit.view import View, need
from shotcrit.errors import InputError
from shotcrit.media.info import MovieInfo
from shotcrit.media.picture_files import plain_stem
from shotcrit.readings.cast import Cast
from shotcrit.room.settings.stored import seed
from shotcrit.room.takes.adding import is_as_seen, known_as, next_take
from shotcrit.store.crit_file import CritFile
from shotcrit.store.opening import SUFFIX
from shotcrit.store.person import login_name, read_habits


def crit_beside(movie: Path) -> Path:
    """Where the crit of a movie lies when nobody says otherwise: 'lantern_040.mov' -> 'lantern_040.crit' beside it."""
    beside = movie.with_name((plain_stem(movie.name) or "shot") + SUFFIX)
    # Crits of runs were once named without the digits before the pattern; one that lies there goes on being the run's.
    older = movie.with_name((movie.stem.rstrip("#%.0123456789d_-") or "shot") + SUFFIX)
    return older if plain_stem(movie.name) != movie.stem and older.exists() and not beside.exists() else beside


def open_crit(path: Path, *, habits: Path | None = None, team: bool = False) -> CritFile:
    """Open a crit, or make it when nothing lies at `path`; a new one starts with the person's habits.

    team : undo takes back one's own edits only. Raises InputError or StoreError, one sentence.
    """
    if path.suffix.lower() != SUFFIX:
        raise InputError(f"{path} is no name for a crit; give one that ends in {SUFFIX}")
    if path.exists():
        return CritFile.open(path, scope_by_person=team)
    crit = CritFile.create(path, scope_by_person=team)
    if habits is not None:
        kept = read_habits(habits)
        crit.edit(login_name(), lambda _view: seed(kept), undoable=False)
    return crit


def add_movie(
    crit: CritFile,
    movie: MovieInfo | str,
    *,
    lines: str | None = None,
    cast: Cast | None = None,
    scene: Path | None = None,
    medium: str | None = None,
    first_frame: int | None = None,
    cast_from: int | None = None,
    count_from: int | None = None,
    count_to: int | None = None,
    shot: str | None = None,
) -> Take:
    """Put a movie into a crit as a take, and what is given with it; a movie that is there already gets what is given now.

    movie : what is known of it, or the id of the take that it is already (see known_take)
    first_frame : number of the first picture; None: as it is, which for a new take is the movie's
    cast_from : the number that `cast` counts the first picture by; None: as the movie is counted
    count_from, count_to : shown frames, both in, that are judged; both None: as it is
    shot : name of the shot that this is a take of, which is begun where the crit has none of that name; None: see shot_of
    Not undoable, for opening a movie is no edit of the reviewer's; and one edit, so that a take is there with all that comes along, or not at all.
    """
    given: dict[str, Any] = {"lines": lines, "scene": None if scene is None else str(scene.absolute()), "medium": medium}
    given = {name: value for name, value in given.items() if value is not None}
    if cast is not None:
        given["cast"] = cast.model_dump(mode="json")
    counting = _Counting(cast, cast_from, count_from, count_to)
    added: list[str] = []

    def act(view: View) -> Edit:
        known = need(view, Take, movie) if isinstance(movie, str) else known_as(view, movie, None)
        if known is not None:
            added[:] = [known.id]
            fields = _renewed(known, Path(known.path) if isinstance(movie, str) else movie.path, given, first_frame)
            return Edit("open a movie", update(known, {**fields, **counting.fields(altered(known, fields))}))
        assert not isinstance(movie, str)
        new = next_take(view, movie, shot=shot_of(view, movie, shot), **given)
        added[:] = [new.take.id]
        named = new.shot if shot is None or new.shot is None else new.shot.model_copy(update={"name": shot[:200]})
        return replace(new, shot=named).edit(altered(new.take, counting.fields(new.take)))

    crit.edit(login_name(), act, undoable=False)
    with crit.view() as view:
        return need(view, Take, added[0])


def shot_of(view: View, movie: MovieInfo, name: str | None) -> str | None:
    """Id of the shot that a movie is the next take of; None where it begins one.

    By the name that was said; else the only shot there is; else the one that is called like the movie. Raises InputError where that leaves it open.
    """
    shots = view.all(Shot)
    if name is not None:
        return next((shot.id for shot in shots if shot.name == name), None)
    if len(shots) < 2:
        return shots[0].id if shots else None
    alike = [shot.id for shot in shots if shot.name == plain_stem(movie.name)]
    if len(alike) != 1:
        names = ", ".join(dict.fromkeys(shot.name for shot in shots))
        raise InputError(f"this crit holds several shots ({names}); say with --shot which one {movie.name} is a take of")
    return alike[0]


@dataclass(frozen=True)
class _Counting:
    """What was said of how a movie's and its cast's frames are counted, and which of them count. See add_movie."""

    cast: Cast | None
    cast_from: int | None
    count_from: int | None
    count_to: int | None

    def fields(self, take: Take) -> dict[str, Any]:
        """Raises InputError when none of the take's frames would count."""
        changed: dict[str, Any] = {}
        if self.cast is not None and self.cast_from is not None:
            changed["cast"] = shifted(self.cast, take.first_frame - self.cast_from).model_dump(mode="json")
        if self.count_from is not None or self.count_to is not None:
            changed["counts"] = counts_of(take, self.count_from, self.count_to)
        return changed


def known_take(crit_path: Path, movie: Path) -> str | None:
    """Id of the newest take that is this movie, by its place, size and time stamp, in a crit that may be there: what need not be read again."""
    if crit_path.suffix.lower() != SUFFIX or not crit_path.exists():
        return None
    with CritFile.open(crit_path) as crit, crit.view() as view:
        same = [take for take in view.all(Take) if take.path == str(movie.absolute()) and is_as_seen(take)]
    return max(same, key=lambda take: take.number).id if same else None


def _renewed(take: Take, path: Path, given: dict[str, Any], first_frame: int | None) -> dict[str, Any]:
    """The movie is a take already: where it lies now, and what was given with it this time."""
    moved = {} if first_frame is None else recounted(take, first_frame)
    return {"path": str(path.absolute()), **moved, **given}
