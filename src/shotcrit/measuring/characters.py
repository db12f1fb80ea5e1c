"""What was learnt of a character in one shot, kept for its next one: a file for each character and movie, in a folder of the show.

Each file says which shot it came from, and which other shots had taught that one. A shot that was measured once goes on with the same teachers, so
that its numbers stay as they are when later shots are marked; forgetting a file, or a shot's own one, changes that.
"""

from __future__ import annotations

import hashlib
import io
import json
import re
import zipfile
from collections.abc import Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from shotcrit.deliver.atomic import write_whole
from shotcrit.errors import InputError
from shotcrit.readings.picture.character_model import CharacterModel

FOLDER = "shotcrit-characters"
"""Name of the folder beside a crit."""
SUFFIX = ".learnt"
MOST_TEACHERS = 3
"""Other shots that teach one (guess: light and build differ more from shot to shot than the third one adds)."""
MOST_MOUTHS = 24
"""Marked mouths taken over from other shots (guess: eight shots' three)."""
BIGGEST = 32 * 2**20
"""Bytes; a file above this is not ours."""
ABOUT, MODEL = "about.json", "model.npz"


@dataclass(frozen=True)
class Learnt:
    """folder : where the files lie; shot : what people call the shot that is measured now"""

    folder: Path
    shot: str


@dataclass(frozen=True)
class Lesson:
    """What one shot taught of one character. mouths : marked frames; eyes : sides; taught_by : hashes of the movies that had taught it; when : ISO, UTC"""

    who: str
    shot: str
    sha256: str
    when: str
    mouths: int
    eyes: tuple[str, ...]
    taught_by: tuple[str, ...]
    path: Path
    digest: str


@dataclass(frozen=True)
class Known:
    """What other shots teach of one character here. lessons : where it comes from; digest : names it in the cache"""

    model: CharacterModel
    lessons: tuple[Lesson, ...]

    @property
    def digest(self) -> str:
        return hashlib.sha256("".join(lesson.digest for lesson in self.lessons).encode()).hexdigest()[:16]


def lessons_of(folder: Path, who: str) -> list[Lesson]:
    """Everything kept of a character, newest first. Files that are not ours are passed over."""
    found = []
    with suppress(OSError):
        found = [lesson for path in sorted(_home(folder, who).glob(f"*{SUFFIX}")) if (lesson := _about(path)) is not None]
    return sorted((f for f in found if f.who == who), key=lambda f: f.when, reverse=True)


def known_to(learnt: Learnt | None, names: Sequence[str], sha256: str) -> dict[str, Known]:
    """What is known of each character when the movie `sha256` is measured: from the shots that taught it before, else from the newest others."""
    known: dict[str, Known] = {}
    for who in names if learnt is not None else ():
        assert learnt is not None
        lessons = lessons_of(learnt.folder, who)
        own = next((lesson for lesson in lessons if lesson.sha256 == sha256), None)
        others = [lesson for lesson in lessons if lesson.sha256 != sha256 and (lesson.mouths or lesson.eyes)]
        chosen = [o for o in others if o.sha256 in own.taught_by] if own else others[:MOST_TEACHERS]
        pairs = [(lesson, model) for lesson in chosen if (model := _model(lesson)) is not None]
        if pairs:
            mouths = tuple(m for _, model in pairs for m in model.mouths)[:MOST_MOUTHS]
            eyes = {side: look for _, model in reversed(pairs) for side, look in model.eyes.items()}
            known[who] = Known(CharacterModel(who, mouths, eyes), tuple(lesson for lesson, _ in pairs))
    return known


def keep_lesson(learnt: Learnt, model: CharacterModel, teachers: Sequence[str], sha256: str) -> None:
    """Keep what the movie `sha256` taught of one character; a folder that cannot be written keeps nothing, and nothing is said.

    model : what this shot's own marks taught, without what was known before; it may be empty, and then only remembers the teachers
    """
    about = {
        "form": "shotcrit.learnt/1", "who": model.who, "shot": learnt.shot, "sha256": sha256, "mouths": len(model.mouths), "eyes": sorted(model.eyes),
        "taught_by": sorted(teachers), "when": datetime.now(UTC).isoformat(timespec="seconds"),
    }  # fmt: skip
    data = io.BytesIO()
    with zipfile.ZipFile(data, "w") as box:
        box.writestr(ABOUT, json.dumps(about, ensure_ascii=False))
        box.writestr(MODEL, model.to_bytes())
    path = _home(learnt.folder, model.who) / f"{sha256[:16]}{SUFFIX}"
    if path.exists() and _same(path, about, model):
        return
    with suppress(OSError, InputError):
        path.parent.mkdir(parents=True, exist_ok=True)
        write_whole(path, data.getvalue())


def forget(folder: Path, who: str, sha256: str | None = None) -> int:
    """Forget what one movie taught of a character, or everything (None). Returns how many files went."""
    gone = 0
    for lesson in lessons_of(folder, who):
        if sha256 in (None, lesson.sha256):
            with suppress(OSError):
                lesson.path.unlink()
                gone += 1
    with suppress(OSError):
        _home(folder, who).rmdir()
    return gone


def own_part(model: CharacterModel, known: Mapping[str, Known]) -> CharacterModel:
    """A model as it was learnt, without the mouths that were known before: those stand at its end."""
    before = known.get(model.who)
    count = len(before.model.mouths) if before else 0
    old = before.model.eyes if before else {}
    return CharacterModel(
        model.who,
        model.mouths[: len(model.mouths) - count],
        {side: look for side, look in model.eyes.items() if look is not old.get(side)},
    )


def _home(folder: Path, who: str) -> Path:
    """A folder's name that no file system minds, and that two names never share."""
    plain = re.sub(r"[^A-Za-z0-9]+", "_", who).strip("_")[:40] or "character"
    return folder / f"{plain}-{hashlib.sha256(who.encode()).hexdigest()[:8]}"


def _about(path: Path) -> Lesson | None:
    try:
        if path.stat().st_size > BIGGEST:
            return None
        data = path.read_bytes()
        with zipfile.ZipFile(io.BytesIO(data)) as box:
            said = json.loads(box.read(ABOUT))
        return Lesson(
            str(said["who"]), str(said["shot"]), str(said["sha256"]), str(said["when"]), int(said["mouths"]), tuple(map(str, said["eyes"])),
            tuple(map(str, said["taught_by"])), path, hashlib.sha256(data).hexdigest(),
        )  # fmt: skip
    except (OSError, ValueError, KeyError, TypeError, AttributeError, RecursionError, NotImplementedError, zipfile.BadZipFile):
        return None


def _model(lesson: Lesson) -> CharacterModel | None:
    try:
        with zipfile.ZipFile(lesson.path) as box:
            if box.getinfo(MODEL).file_size > BIGGEST:
                return None
            return CharacterModel.from_bytes(box.read(MODEL), name=str(lesson.path))
    except (OSError, KeyError, InputError, NotImplementedError, zipfile.BadZipFile):
        return None


def _same(path: Path, about: Mapping[str, object], model: CharacterModel) -> bool:
    """Whether the file says the same already; only the time differs."""
    old = _about(path)
    if old is None or (old.shot, list(old.taught_by)) != (about["shot"], about["taught_by"]):
        return False
    kept = _model(old)
    return kept is not None and kept.to_bytes() == model.to_bytes()
