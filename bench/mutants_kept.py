"""Ten thousand mutants take hours on a busy machine, so they are tried in chunks, and a file keeps how far that went: stop it and go on as you like.

python -m bench.mutants_kept FILE [--most N]        go on from where FILE says, for N mutants at most; what goes wrong is printed

What went wrong before is tried again first: a fault that was mended goes from the list, and one that comes back at once stays.
"""

from __future__ import annotations

import argparse
import json
import sys
import tempfile
from collections.abc import Callable
from dataclasses import asdict, dataclass, replace
from pathlib import Path
from time import monotonic

from tests.make.mutants import Mutant, try_all

from shotcrit.media.whole import write_whole

COUNT = 10_000
SEED = 1
CHUNK = 50
"""Mutants between two writings of the file: some seconds of work, lost at most when it is stopped."""


@dataclass(frozen=True)
class Tried:
    """How far it went. tried : numbers below this were; wrong : number to what happened; slowest_s : of any, with its number

    The first mutant of a chunk is timed with the start of its process.
    """

    seed: int = SEED
    tried: int = 0
    wrong: tuple[tuple[int, str], ...] = ()
    slowest_s: float = 0.0
    slowest: int | None = None


Try = Callable[..., list[str]]


def kept(file: Path) -> Tried:
    """What a file keeps; nothing tried when there is none, or when it is of another seed."""
    if not file.exists():
        return Tried()
    row = json.loads(file.read_text(encoding="utf-8"))
    found = Tried(**{**row, "wrong": tuple((int(number), str(said)) for number, said in row["wrong"])})
    return found if found.seed == SEED else Tried()


def go_on(file: Path, work: Path, *, most: int = COUNT, until: float | None = None, attempt: Try = try_all) -> Tried:
    """Try the next mutants, at most `most` and up to COUNT in all, and keep how far that went after each chunk.

    work : a folder to make them in; until : of the monotonic clock, when no new chunk is begun
    """
    now = _again(kept(file), work, attempt)
    _keep(file, now)
    end = min(COUNT, now.tried + most)
    while now.tried < end and (until is None or monotonic() < until):
        now = _chunk(now, min(CHUNK, end - now.tried), work, attempt)
        _keep(file, now)
    return now


def _keep(file: Path, tried: Tried) -> None:
    write_whole(file, json.dumps(asdict(tried), indent=1).encode())


def _again(before: Tried, work: Path, attempt: Try) -> Tried:
    """The same with only those that still go wrong."""
    still = [(number, wrong[0]) for number, _ in before.wrong if (wrong := attempt(work, 1, before.seed, first=number))]
    return replace(before, wrong=tuple(still))


def _chunk(before: Tried, count: int, work: Path, attempt: Try) -> Tried:
    took: list[tuple[float, int]] = []
    wrong: list[tuple[int, str]] = []
    begun = monotonic()

    def told(mutant: Mutant, _said: str) -> None:
        nonlocal begun
        took.append((monotonic() - begun, mutant.seed))
        begun = monotonic()

    for said in attempt(work, count, before.seed, first=before.tried, told=told):
        wrong.append((int(said.split(":")[0].rsplit("-", 1)[1]), said))
    slowest_s, slowest = max([*took, (before.slowest_s, before.slowest or 0)])
    return replace(before, tried=before.tried + count, wrong=(*before.wrong, *wrong), slowest_s=round(slowest_s, 2), slowest=slowest)


def main() -> int:
    """Exit status 1 when something went wrong."""
    parser = argparse.ArgumentParser(description="Try mutated inputs in chunks.")
    parser.add_argument("file", type=Path, help="keeps how far it went")
    parser.add_argument("--most", type=int, default=COUNT, help="mutants to try now")
    asked = parser.parse_args()
    with tempfile.TemporaryDirectory(prefix="shotcrit-mutants-") as work:
        found = go_on(asked.file, Path(work), most=asked.most)
    print(f"{found.tried:,} of {COUNT:,} tried, slowest {found.slowest} in {found.slowest_s:g} s, wrong: {len(found.wrong)}")
    print("".join(f"{said}\n" for _, said in found.wrong), end="")
    return int(bool(found.wrong))


if __name__ == "__main__":
    sys.exit(main())
