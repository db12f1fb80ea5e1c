"""Which picture files make up a sequence: from a pattern, a folder or one file of the run."""

from __future__ import annotations

import re
from dataclasses import dataclass
from pathlib import Path

from shotcrit.errors import MediaError

SUFFIXES = (".png", ".jpg", ".jpeg", ".tif", ".tiff", ".exr")
MOST_MISSING = 1000
"""Numbers that may be missing from a run; more is a stray file, not a gap. Guess."""
MOST_FRAME_NUMBER = 9_999_999
"""Four days of frames; a larger number in a file's name is a date or a serial number (guess)."""

_PATTERN = re.compile(r"(#+|%0?\d*d)")
_NUMBER = re.compile(r"^(.*?)(\d+)([^\d]*)$")


@dataclass(frozen=True)
class Run:
    """files: by number, in order. label: how people write the run. numbered: the numbers are those in the files' names."""

    label: str
    folder: Path
    files: dict[int, Path]
    numbered: bool = True

    @property
    def first(self) -> int:
        return min(self.files)

    @property
    def last(self) -> int:
        return max(self.files)

    @property
    def frame_number(self) -> int | None:
        """The first picture's frame as its name has it; None where names carry no number, or one that is a date and no frame."""
        return self.first if self.numbered and self.first <= MOST_FRAME_NUMBER else None

    def missing(self) -> list[int]:
        """Numbers between the first and the last that have no file."""
        return [n for n in range(self.first, self.last + 1) if n not in self.files]


def is_sequence(path: Path) -> bool:
    """Whether `path` names pictures: a pattern, a folder, or a picture file."""
    return (bool(_PATTERN.search(path.name)) and not path.is_file()) or path.is_dir() or path.suffix.lower() in SUFFIXES


def find_run(path: Path) -> Run:
    """The run that `path` names. Raises MediaError when there is none, when a folder holds two, or when the numbers jump."""
    if path.is_dir():
        run = _only_run(path)
    elif _PATTERN.search(path.name) and not path.is_file():
        run = _by_pattern(path)
    else:
        run = _around(path)
    gap = run.last - run.first + 1 - len(run.files)
    if gap > MOST_MISSING:
        raise MediaError(f"{run.folder / run.label} lacks {gap} of the numbers {run.first} to {run.last}; move stray files away")
    return run


def plain_stem(name: str) -> str:
    """A medium's name without its ending and without the signs that stand for numbers: 'shot' of 'shot.####.png', 'lantern_040' of 'lantern_040.mov'."""
    stem, pictures = Path(name).stem, Path(name).suffix.lower() in SUFFIXES
    if not (pictures and _PATTERN.search(stem)):
        return stem
    return re.sub(r"[._\- ]{2,}", "_", _PATTERN.sub("", stem)).strip("._- ")


def gaps_sentence(run: Run) -> str | None:
    """One sentence on the missing numbers, or None."""
    lost = run.missing()
    if not lost:
        return None
    spans: list[list[int]] = []
    for n in lost:
        if spans and spans[-1][1] == n - 1:
            spans[-1][1] = n
        else:
            spans.append([n, n])
    listed = ", ".join(str(a) if a == b else f"{a} to {b}" for a, b in spans[:5]) + (" and more" if len(spans) > 5 else "")
    return f"{run.folder / run.label} lacks {listed}; the picture before stands in and these frames are not measured"


def _listing(folder: Path) -> list[Path]:
    try:
        return sorted(p for p in folder.iterdir() if p.suffix.lower() in SUFFIXES and not p.name.startswith(".") and p.is_file())
    except OSError as problem:
        raise MediaError(f"{folder} cannot be read ({problem.strerror}); check the folder's name and permissions") from problem


def _runs(folder: Path) -> dict[tuple[str, str], dict[int, Path]]:
    """Files by (text before the number, text after it); the number is the last one in the name."""
    runs: dict[tuple[str, str], dict[int, Path]] = {}
    for file in _listing(folder):
        parts = _NUMBER.match(file.stem)
        if parts:
            runs.setdefault((parts[1], parts[3] + file.suffix), {})[int(parts[2])] = file
    return runs


def _run(folder: Path, key: tuple[str, str], files: dict[int, Path]) -> Run:
    digits = len(_NUMBER.match(next(iter(files.values())).stem)[2])  # type: ignore[index]
    return Run(f"{key[0]}{'#' * digits}{key[1]}", folder, dict(sorted(files.items())))


def _only_run(folder: Path) -> Run:
    runs = _runs(folder)
    if not runs:
        raise MediaError(f"{folder} holds no numbered pictures (PNG, JPEG, TIFF or EXR); name the folder that does, or a movie")
    ranked = sorted(runs.items(), key=lambda item: -len(item[1]))
    if len(ranked) > 1 and len(ranked[1][1]) > 1:
        names = " and ".join(_run(folder, *r).label for r in ranked[:2])
        raise MediaError(f"{folder} holds more than one run of pictures, {names}; name one of them")
    return _run(folder, *ranked[0])


def _by_pattern(path: Path) -> Run:
    match = _PATTERN.search(path.name)
    assert match is not None
    before, after = path.name[: match.start()], path.name[match.end() :]
    number = re.compile(re.escape(before) + r"(\d+)" + re.escape(after))
    files: dict[int, Path] = {}
    for file in _listing(path.parent):
        found = number.fullmatch(file.name)
        if found:
            files[int(found[1])] = file
    if not files:
        raise MediaError(f"no picture is called {path}; check the folder and the pattern")
    return Run(path.name, path.parent, dict(sorted(files.items())))


def _around(path: Path) -> Run:
    if not path.exists():
        raise MediaError(f"{path} does not exist; check the name and the folder")
    if not path.is_file():
        raise MediaError(f"{path} is not a plain file; name a picture of the run")
    parts = _NUMBER.match(path.stem)
    if parts:
        key = (parts[1], parts[3] + path.suffix)
        return _run(path.parent, key, _runs(path.parent)[key])
    return Run(path.name, path.parent, {1: path}, numbered=False)
