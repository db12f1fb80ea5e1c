"""USD (usda, usdc, usdz): read in a process of its own, since a broken crate file can bring the library down and must not bring us down."""

from __future__ import annotations

import io
import json
import subprocess
import sys
from importlib.util import find_spec
from pathlib import Path
from typing import Any

import numpy as np

from shotcrit.errors import InputError, MissingExtra
from shotcrit.readings.scene.model import BIGGEST_SCENE, Sampling, Scene, SceneCamera, short_names

PATIENCE_S = 300
"""Seconds after which reading is given up (guess; a film character's stage opens in a few)."""


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
    command = [sys.executable, "-m", "shotcrit.readings.scene.usd_worker"]
    try:
        answer = subprocess.run(command, input=json.dumps(question).encode(), capture_output=True, timeout=PATIENCE_S, check=False)
    except subprocess.TimeoutExpired as problem:
        raise InputError(f"{path} takes more than {PATIENCE_S} s to open; export only what the cast names") from problem
    if answer.returncode != 0:
        reason = answer.stderr.decode(errors="replace").strip().splitlines()[-1:] or ["the USD library broke off"]
        told = reason[0].removeprefix("shotcrit: ") if reason[0].startswith("shotcrit: ") else "the USD library broke off"
        raise InputError(f"{path} is not a sound USD file ({told[:160]}); export it again")
    with np.load(io.BytesIO(answer.stdout), allow_pickle=False) as arrays:
        return {name: arrays[name] for name in arrays.files}


def _scene(path: Path, arrays: dict[str, Any]) -> Scene:
    told = json.loads(str(arrays["told"]))
    paths = told["paths"]
    world = {p: arrays["world"][i] for i, p in enumerate(paths)}
    rest = {p: arrays["rest"][i] for i, p in enumerate(paths)}
    names = short_names(paths, "/")
    cameras = {}
    for index, camera in enumerate(told["cameras"]):
        focal, wide, high = arrays["lenses"][index]
        own = SceneCamera(camera, focal_mm=focal, back_width_mm=wide, back_height_mm=high)
        cameras.update({name: own for name, full in names.items() if full == camera})
    return Scene(
        name=path.name,
        kind="USD",
        nodes={name: world[full] for name, full in names.items()},
        rest={name: rest[full] for name, full in names.items()},
        cameras=cameras,
        says=tuple(told["says"]),
    )
