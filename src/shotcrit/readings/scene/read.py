"""Open a scene file of any kind that we read."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import numpy.typing as npt

from shotcrit.errors import InputError
from shotcrit.readings.scene.bvh import read_bvh
from shotcrit.readings.scene.gltf import read_gltf
from shotcrit.readings.scene.model import Sampling, Scene
from shotcrit.readings.scene.usd import read_usd

FARTHEST = 1e12
"""Metres; a place beyond is a broken number (guess: further than the sun)."""
KINDS = {
    ".usd": read_usd, ".usda": read_usd, ".usdc": read_usd, ".usdz": read_usd, ".gltf": read_gltf, ".glb": read_gltf, ".bvh": read_bvh,
}  # fmt: skip


def read_scene(path: Path, sampling: Sampling, *, metres_per_unit: float = 1.0) -> Scene:
    """The scene at the movie's frames. metres_per_unit 1 = the file's own unit. Raises InputError, one sentence."""
    reader = KINDS.get(path.suffix.lower())
    if reader is None:
        raise InputError(f"{path} is no scene file that can be read; give USD (.usd, .usda, .usdc, .usdz), glTF (.gltf, .glb) or .bvh")
    if not path.is_file():
        raise InputError(f"{path} is {'no file' if path.exists() else 'not there'}; give a scene file that exists")
    if reader is read_usd:
        return _sound(path, read_usd(path, sampling, metres_per_unit=None if metres_per_unit == 1.0 else metres_per_unit))
    return _sound(path, reader(path, sampling, metres_per_unit=metres_per_unit))


def _sound(path: Path, scene: Scene) -> Scene:
    """The scene, when every number in it is one that can be computed with."""
    for name, matrices in scene.nodes.items():
        if not (_usable(matrices) and _usable(scene.rest[name])):
            raise InputError(f"{path} places the node {name[:60]} nowhere (a number is missing or without bounds); mend or leave it out")
    for name, camera in scene.cameras.items():
        for values in (camera.focal_mm, camera.back_width_mm, camera.back_height_mm, camera.vertical_fov_deg):
            if values is not None and not (_usable(values) and (values > 0).all()):
                raise InputError(f"{path} has a camera {name[:60]} whose lens is not above zero; export it with its lens")
    return scene


def _usable(values: npt.NDArray[np.float64]) -> bool:
    return bool(np.isfinite(values).all() and (np.abs(values) < FARTHEST).all())
