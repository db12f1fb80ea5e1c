"""USD (usda, usdc, usdz): read elsewhere, since a broken crate file can bring the library down, and references can multiply without end."""

from __future__ import annotations

from importlib import import_module
from importlib.util import find_spec
from pathlib import Path
from typing import Any

from shotcrit.elsewhere.bounds import Bounds
from shotcrit.elsewhere.far import Watch
from shotcrit.elsewhere.near import run_elsewhere
from shotcrit.errors import Died, InputError, MissingExtra, OutOfMemory, TooLong
from shotcrit.readings.scene.model import BIGGEST_SCENE, Sampling, Scene, SceneCamera, short_names

BOUNDS = Bounds(memory=2 * 2**30, patience_s=25)
"""What opening a stage may take: a film character's opens in a few seconds (guess). How much a stage holds is known only once its references are drawn in."""


def read_usd(path: Path, sampling: Sampling, *, metres_per_unit: float | None = None) -> Scene:
    """Read a USD stage at the movie's frames.

    metres_per_unit : the cast's word, which overrules the stage's own; None = the stage's own
    Raises InputError (one sentence) for broken files, MissingExtra without usd-core.
    """
    if find_spec("pxr") is None:
        raise MissingExtra(f"{path} is a USD scene and needs usd-core; install it with: pip install 'shotcrit[scene]'")
    try:
        if path.stat().st_size > BIGGEST_SCENE:
            raise InputError(f"{path} is larger than {BIGGEST_SCENE >> 30} GB; export only what the cast names")
    except OSError as problem:
        raise InputError(f"{path} cannot be read ({problem.strerror or problem}); give a scene file that exists") from problem
    question = {
        "path": str(path.resolve()),
        "seconds": sampling.seconds.tolist(),
        "rate": sampling.rate,
        "first_frame": sampling.first_frame,
        "offset_s": sampling.offset_s,
        "metres_per_unit": metres_per_unit,
    }
    return _scene(path, _ask(path, question))


def _ask(path: Path, question: dict[str, Any]) -> dict[str, Any]:
    try:
        return dict(run_elsewhere(_read_stage, question, bounds=BOUNDS))
    except TooLong as problem:
        raise InputError(f"{path} takes more than {BOUNDS.patience_s:g} s to open; export only what the cast names") from problem
    except OutOfMemory as problem:
        raise InputError(f"{path} takes more than {(BOUNDS.memory or 0) >> 30} GB to open; export only what the cast names") from problem
    except Died as problem:
        raise InputError(f"{path} is not a sound USD file (the USD library broke off, {problem.cause}); export it again") from problem
    except InputError as problem:
        raise InputError(f"{path} is not a sound USD file ({problem}); export it again") from problem


def _read_stage(question: dict[str, Any], _watch: Watch) -> dict[str, Any]:
    """At the far end, where alone the USD library is loaded."""
    return dict(import_module("shotcrit.readings.scene.usd_stage").read_stage(question))


def _scene(path: Path, answer: dict[str, Any]) -> Scene:
    paths, places, resting = answer["paths"], answer["world"], answer["rest"]
    world = {p: places[i] for i, p in enumerate(paths)}
    rest = {p: resting[i] for i, p in enumerate(paths)}
    names = short_names(paths, "/")
    cameras = {}
    for index, camera in enumerate(answer["cameras"]):
        focal, wide, high = answer["lenses"][index]
        own = SceneCamera(camera, focal_mm=focal, back_width_mm=wide, back_height_mm=high)
        cameras.update({name: own for name, full in names.items() if full == camera})
    return Scene(
        name=path.name,
        kind="USD",
        nodes={name: world[full] for name, full in names.items()},
        rest={name: rest[full] for name, full in names.items()},
        cameras=cameras,
        says=tuple(answer["says"]),
    )
