"""Small valid inputs of every kind, and seeded mutants of them: what a bad disk, a broken exporter or a hostile hand makes of a file.

    for mutant in mutants(folder, 500, seed=1):
        said = tried(place, mutant)          # place: a process that may die of it

A mutant is made of one of the valid inputs by up to four changes. What is changed is bytes in binary files, words and numbers in text; in MP4 and
MOV half of the changes fall into the index, where a few bytes say how much there is.
"""

from __future__ import annotations

import json
import re
import shutil
from collections.abc import Callable, Iterator
from contextlib import suppress
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from random import Random

from shotcrit.crit.answers import parse_answers
from shotcrit.crit.edits import Edit, make
from shotcrit.crit.records import KINDS
from shotcrit.elsewhere.bounds import Bounds
from shotcrit.elsewhere.far import Watch
from shotcrit.elsewhere.near import Elsewhere
from shotcrit.errors import ShotcritError, TooLong, Unforeseen
from shotcrit.measuring.measure import Workbench, measure
from shotcrit.measuring.request import MeasureRequest, request_from_files
from shotcrit.readings.sound.textgrid import write_textgrid
from shotcrit.store.cache import open_cache
from shotcrit.store.crit_file import CritFile
from tests.make import films, scenes
from tests.make.measured import measured as made_measurement
from tests.make.reviews import beginning, note

MEMORY = 2 * 2**30
"""Bytes that no input may take more of."""
SECONDS = 30.0
"""Seconds that no input may take longer than."""
STARTS = 5
"""Times that a process is begun which takes longer than SECONDS for it."""
FRAMES = 6
EXTREME_NUMBERS = ("0", "-1", "1e999", "nan", "9" * 5000, "4294967296", "-2147483648", "0.1", "1e-300", "null", '""', "[]", "1" + "0" * 18)
EXTREME_WORDS = (0, 1, 0x7F, 0xFF, 0x7FFF, 0xFFFF, 0x7FFFFFFF, 0x80000000, 0xFFFFFFFF)
TEXT = frozenset({".txt", ".vtt", ".srt", ".textgrid", ".json", ".csv", ".gltf", ".usda", ".bvh"})
COMMON = (".mp4", ".mov", ".mkv", ".png", ".wav", ".flac")
"""What people give most, and what native code reads: two in three mutants are one of these."""


@dataclass(frozen=True)
class Mutant:
    """kind : what it is given as; seed : makes it again, with the folder of valid inputs"""

    path: Path
    kind: str
    seed: int


def valid_inputs(folder: Path) -> dict[str, Path]:
    """One small sound input of each kind, by kind. A run of pictures is named by its first."""
    folder.mkdir(parents=True, exist_ok=True)
    found = {
        kind: films.make_film(folder / f"kite.{kind}", films.numbered(FRAMES, size=(64, 36)), sound=films.tone(FRAMES / 24), **more)  # type: ignore[arg-type]
        for kind, more in (("mp4", {}), ("mov", {"codec": "png", "pix_fmt": "rgb24"}), ("mkv", {}))
    }
    for number in range(1, 4):
        films.write_picture(folder / f"run.{number:04d}.png", films.texture(32, 18))
    found["png"] = folder / "run.0002.png"
    for kind in ("wav", "flac"):
        found[kind] = films.make_sound(folder / f"kite.{kind}", films.tone(0.5))
    said = ("Oona: You said the lamp would burn all night.", "Bram: It did, until the oil ran out.")
    cue = "00:00:00{0}000 --> 00:00:00{0}400\n<v Oona>You said the lamp would burn.\n\n00:00:00{0}500 --> 00:00:01{0}000\nIt did.\n"
    texts = {"txt": "\n".join(said), "vtt": f"WEBVTT\n\n{cue.format('.')}", "srt": f"1\n{cue.format(',')}"}
    for kind, text in texts.items():
        found[kind] = folder / f"lines.{kind}"
        found[kind].write_text(text)
    whole = made_measurement(level=1)
    assert whole.readings.sound is not None
    found["TextGrid"] = folder / "track.TextGrid"
    write_textgrid(found["TextGrid"], whole.readings.sound, 11.0)
    marks = {"nose": [{"frame": f, "x": 0.4 + 0.01 * f, "y": 0.5} for f in (1, 4)], "chin": [{"frame": 2, "x": 0.5, "y": 0.8}]}
    cast = {
        "characters": [{"name": "Oona", "marks": marks, "scene": {"head": "hand"}}], "props": [{"name": "kite", "marks": {"tail": marks["chin"]}}],
        "contacts": [{"a": "Oona.chin", "b": "kite.tail", "first": 1, "last": 5}], "looks": [{"who": "Oona", "at": "camera"}],
    }  # fmt: skip
    found["json"] = folder / "cast.json"
    found["json"].write_text(json.dumps(cast))
    found["csv"] = folder / "marks.csv"
    found["csv"].write_text("frame,who,mark,x,y,error,placed,kind\n1,Oona,nose,0.4,0.5,0,1,character\n4,kite,tail,0.5,0.6,0,1,prop\n")
    found["gltf"] = scenes.write_gltf(folder / "scene.gltf")
    found["glb"] = scenes.write_gltf(folder / "scene.glb")
    found["usda"] = scenes.write_usd(folder / "scene.usda")
    found["usdc"] = scenes.write_usd(folder / "scene.usdc")
    found["bvh"] = scenes.write_bvh(folder / "scene.bvh")
    found["crit"] = _crit(folder / "kite.crit")
    answers = {
        "schema": "shotcrit.answers/1",
        "crit": "c1",
        "take": "take1",
        "answers": [{"note": "n1", "done": True, "text": "opened it"}],
    }
    found["answers"] = folder / "answers.json"
    found["answers"].write_text(json.dumps(answers))
    return found


def _crit(path: Path) -> Path:
    path.unlink(missing_ok=True)
    with CritFile.create(path) as crit:
        crit.edit("Oona", lambda _view: beginning())
        crit.edit("Oona", lambda _view: Edit("write a note", (make(note("n1")),)))
    return path


def mutants(folder: Path, count: int, seed: int, *, first: int = 0) -> Iterator[Mutant]:
    """`count` mutants from number `first` on, one after the other in the same folder; each is gone when the next is asked for."""
    valid = valid_inputs(folder / "valid")
    rare = [kind for kind in valid if f".{kind}" not in COMMON and not kind.startswith("usd")]
    for number in range(first, first + count):
        random = Random(f"{seed}-{number}")
        # A stage is opened in a process of its own, which costs as much as twenty others: one in twenty.
        kind = random.choice(("usda", "usdc")) if number % 20 == 0 else random.choice(rare if number % 3 == 0 else COMMON).removeprefix(".")
        yield mutant(valid, kind, folder / "mutant", seed, number)


def mutant(valid: dict[str, Path], kind: str, folder: Path, seed: int, number: int) -> Mutant:
    """Mutant `number` of a seed."""
    random = Random(f"{seed}-{number}-{kind}")
    shutil.rmtree(folder, ignore_errors=True)
    folder.mkdir(parents=True)
    source = valid[kind]
    if kind == "png":
        for other in source.parent.glob("run.*.png"):
            shutil.copy(other, folder)
    data = source.read_bytes()
    change = _text_change if source.suffix.lower() in TEXT else _index_change if kind in ("mp4", "mov") else _byte_change
    for _ in range(random.randint(1, 4)):
        data = change(data, random)
    path = folder / source.name
    path.write_bytes(data)
    return Mutant(path, kind, number)


def _byte_change(data: bytes, random: Random) -> bytes:
    """One change of bytes: some set to an extreme number, some lost, doubled or cut off."""
    at, how = random.randrange(len(data) + 1), random.randrange(6)
    # Half of the changes fall into the head, where formats say how much there is.
    at = at if random.random() < 0.5 else at % 256
    if how <= 2:
        width = random.choice((1, 2, 4, 8))
        value = random.choice(EXTREME_WORDS) & (1 << 8 * width) - 1
        return data[:at] + value.to_bytes(width, random.choice(("big", "little"))) + data[at + width :]
    if how == 3:
        return data[:at] + bytes([random.randrange(256)]) + data[at + 1 :]
    length = random.choice((1, 2, 7, 64, 1024))
    if how == 4:
        return data[:at] + data[at + length :]
    return data[:at] if random.random() < 0.3 else data[:at] + data[at : at + length] * 2 + data[at + length :]


def _index_change(data: bytes, random: Random) -> bytes:
    """Half of the time within the movie box (ISO/IEC 14496-12): counts, durations, time scales, sizes, offsets."""
    start = data.find(b"moov")
    if start < 0 or random.random() < 0.5:
        return _byte_change(data, random)
    names = [m.start() for m in re.finditer(rb"mvhd|mdhd|tkhd|stts|stsz|stsc|stco|co64|ctts|stss|elst|stsd|hdlr", data[start:])]
    at = start + random.choice(names) + 4 * random.randint(-1, 8) if names else start
    return data[:at] + random.choice(EXTREME_WORDS).to_bytes(4, "big") + data[at + 4 :]


def _text_change(data: bytes, random: Random) -> bytes:
    """One change of text: a number that is none, a word lost, doubled or repeated, a row moved; or of bytes."""
    if random.random() < 0.2 or not data:
        return _byte_change(data, random)
    text = data.decode("utf-8", "surrogateescape")
    tokens = list(re.finditer(r"-?\d+(?:\.\d+)?(?:e-?\d+)?" if random.random() < 0.5 else r"\w+|[^\w\s]", text))
    if not tokens:
        return _byte_change(data, random)
    token, how = random.choice(tokens), random.randrange(5)
    new = {
        0: random.choice(EXTREME_NUMBERS), 1: "", 2: token[0] * 2, 3: f"{token[0]} " * random.choice((3, 300, 3000)), 4: random.choice(tokens)[0],
    }[how]  # fmt: skip
    return (text[: token.start()] + new + text[token.end() :]).encode("utf-8", "surrogateescape")


def try_it(mutant: Mutant, film: Path, _watch: Watch | None = None) -> str:
    """Give a mutant to the program as what it is. What it came to: 'read', or a refusal's sentence. Anything else is raised."""
    try:
        said = _give(mutant, film)
    except ShotcritError as problem:
        return str(problem)
    broken = [needs for needs in said if needs.startswith("mending")]
    if broken:
        raise Unforeseen(broken[0])
    return "read"


def _give(mutant: Mutant, film: Path) -> list[str]:
    path, kind = mutant.path, mutant.kind
    if kind == "crit":
        with CritFile.open(path) as crit, crit.view() as view:
            for model in KINDS.values():
                view.all(model)
        return []
    if kind == "answers":
        parse_answers(path.read_bytes())
        return []
    return [
        missing.needs
        for missing in measure(_request(path, kind, film), Workbench(open_cache(root=path.parent / "cache"), proxy=False)).not_measured
    ]


def _request(path: Path, kind: str, film: Path) -> MeasureRequest:
    """What is measured: the mutant itself, or a sound film with the mutant beside it."""
    if kind in ("txt", "vtt", "srt", "TextGrid"):
        return request_from_files(film, lines=path)
    if kind == "json":
        return request_from_files(film, cast=path)
    if kind == "csv":
        return request_from_files(film, marks=path)
    if kind in ("gltf", "glb", "usda", "usdc", "bvh"):
        return request_from_files(film, scene=path, cast=film.with_name("cast.json"))
    return request_from_files(path, rate=Fraction(24) if kind == "png" else None)


def _ready(_watch: Watch) -> None:
    """Nothing: the process has loaded what it needs by then."""


def _begun(place: Elsewhere) -> None:
    """Have the process running: on a busy machine its start alone may take long, which is no mutant's doing."""
    for _ in range(STARTS):
        with suppress(TooLong):
            place.ask(_ready)
            return


def try_all(
    folder: Path, count: int, seed: int, *, first: int = 0, told: Callable[[Mutant, str], None] = lambda _mutant, _said: None
) -> list[str]:
    """Try `count` mutants from number `first` on, within MEMORY and SECONDS each; what went wrong, a row each, with what makes the mutant again."""
    wrong = []
    place = Elsewhere(Bounds(memory=MEMORY, patience_s=SECONDS))
    try:
        valid = folder / "valid"
        for one in mutants(folder, count, seed, first=first):
            try:
                _begun(place)
                told(one, place.ask(try_it, one, valid / "kite.mp4"))
            except Exception as problem:
                wrong.append(f"{one.kind} {seed}-{one.seed}: {type(problem).__name__}: {problem}")
                told(one, wrong[-1])
    finally:
        place.close()
    return wrong
