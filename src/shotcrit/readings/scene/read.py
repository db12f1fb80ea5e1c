"""Open a scene file of any kind that we read."""

from __future__ import annotations

from pathlib import Path

from shotcrit.errors import InputError
from shotcrit.readings.scene.bvh import read_bvh
from shotcrit.readings.scene.gltf import read_gltf
from shotcrit.readings.scene.model import Sampling, Scene
from shotcrit.readings.scene.usd import read_usd

KINDS = {
    ".usd": read_usd, ".usda": read_usd, ".usdc": read_usd, ".usdz": read_usd, ".gltf": read_gltf, ".glb": read_gltf, ".bvh": read_bvh,
}  # fmt: skip


def read_scene(path: Path, sampling: Sampling, *, metres_per_unit: float = 1.0) -> Scene:
    """The scene at the movie's frames. metres_per_unit 1 = the file's own unit. Raises InputError, one sentence."""
    reader = KINDS.get(path.suffix.lower())
    if reader is None:
        raise InputError(f"{path} is no scene file that can be read; give USD (.usd, .usda, .usdc, .usdz), glTF (.gltf, .glb) or .bvh")
    if reader is read_usd:
        return read_usd(path, sampling, metres_per_unit=None if metres_per_unit == 1.0 else metres_per_unit)
    return reader(path, sampling, metres_per_unit=metres_per_unit)
