"""glTF 2.0 and GLB: node tree, animation channels, morph weights, perspective cameras. Metres, y up, by the standard.

Buffers inside the file, as data URIs, or in files beside it; a URI that leaves the file's own folder is refused.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt

from shotcrit.errors import InputError
from shotcrit.readings.scene.gltf_data import Accessors, load_document
from shotcrit.readings.scene.model import Sampling, Scene, SceneCamera, check_nodes
from shotcrit.readings.scene.timing import origin_s, rate_words
from shotcrit.readings.scene.transforms import compose, has_circle, quaternion_matrix, slerp, world_matrices

Array = npt.NDArray[np.float64]
_REST = {"translation": (0.0, 0.0, 0.0), "rotation": (0.0, 0.0, 0.0, 1.0), "scale": (1.0, 1.0, 1.0)}


def read_gltf(path: Path, sampling: Sampling, *, metres_per_unit: float = 1.0) -> Scene:
    """Read a glTF or GLB file at the movie's frames. Raises InputError (one sentence) for broken files."""
    try:
        document, buffers = load_document(path)
        return _scene(path, document, Accessors(document, buffers), sampling, metres_per_unit)
    except InputError as problem:
        raise InputError(f"{path} cannot be read ({problem}); export only what the cast names") from problem
    except OSError as problem:
        raise InputError(f"{path} cannot be read ({problem.strerror or problem}); give a scene file that exists") from problem
    except Exception as problem:  # a hostile file can make any part of the parser fail in any way
        raise InputError(f"{path} is not a sound glTF file ({_reason(problem)}); export it again") from problem


def _reason(problem: Exception) -> str:
    """What is wrong, in words; by the kind of failure where the parser has none of ours."""
    if isinstance(problem, json.JSONDecodeError | UnicodeDecodeError):
        return "its description is no JSON or is cut short"
    if isinstance(problem, RecursionError):
        return "it is nested too deeply"
    if type(problem) is ValueError and str(problem):
        return str(problem)[:120]
    if isinstance(problem, LookupError):
        return "it points to a part that it does not hold"
    return f"a part of it is of the wrong kind: {type(problem).__name__}"


def _scene(path: Path, document: Any, data: Accessors, sampling: Sampling, metres: float) -> Scene:
    nodes = document.nodes or []
    if not nodes:
        raise ValueError("it has no nodes")
    check_nodes(len(nodes), len(sampling.seconds))
    parents = _parents(nodes)
    start, length, dense = _extent(document, data)
    origin, moved = origin_s(start, length, sampling)
    times = sampling.seconds + sampling.offset_s + origin
    channels = _channels(document, data, times)
    local = _at_rest(nodes)
    still = list(local)
    for i, parts in channels.items():
        local[i] = _local(nodes[i], parts, len(times))
        still[i] = _local(nodes[i], _unsaid(nodes[i], parts), 1)
    names = _names(nodes)
    shape = (len(times), 4, 4)
    world = {name: np.broadcast_to(_in_metres(m, metres), shape) for name, m in zip(names, world_matrices(local, parents), strict=True)}
    rest = {name: _in_metres(m, metres)[0] for name, m in zip(names, world_matrices(still, parents), strict=True)}
    said = [line for line in (moved, rate_words(dense, sampling.rate)) if line]
    if length and length + 1.5 / sampling.rate < times[-1]:
        said.append(f"the scene's animation ends at {length:.2f} s, before the movie; its last pose is held")
    if not channels:
        said.append("the scene carries no animation")
    return Scene(
        name=path.name,
        kind="glTF",
        nodes=world,
        rest=rest,
        cameras=_cameras(document, nodes, names, len(times)),
        morphs=_morphs(document, nodes, names, channels),
        says=tuple(said),
    )


def _in_metres(matrices: Array, metres: float) -> Array:
    out = matrices.copy()
    out[:, :3, 3] *= metres
    return out


def _names(nodes: list[Any]) -> list[str]:
    seen: dict[str, int] = {}
    names = []
    for index, node in enumerate(nodes):
        name = str(node.name or f"node_{index}")
        seen[name] = seen.get(name, 0) + 1
        names.append(name if seen[name] == 1 else f"{name}#{seen[name]}")
    return names


def _parents(nodes: list[Any]) -> list[int]:
    parents = [-1] * len(nodes)
    for index, node in enumerate(nodes):
        for child in node.children or []:
            if not 0 <= child < len(nodes) or parents[child] >= 0:
                raise ValueError("its node tree is broken")
            parents[child] = index
    if has_circle(parents):
        raise ValueError("its node tree runs in a circle")
    return parents


def _at_rest(nodes: list[Any]) -> list[Array]:
    """The local matrix [shape=(1, 4, 4)] of each node as it is without animation; all at once, since most nodes of a scene never move."""
    parts = [np.array([getattr(node, name) or rest for node in nodes], np.float64) for name, rest in _REST.items()]
    found = compose(parts[0], quaternion_matrix(parts[1]), parts[2])
    for index, node in enumerate(nodes):
        if node.matrix:
            # glTF writes matrices column by column.
            found[index] = np.array(node.matrix, np.float64).reshape(4, 4).T
    return list(found[:, None])


def _local(node: Any, channels: dict[str, Array], n: int) -> Array:
    if node.matrix and not set(channels) & set(_REST):
        # glTF writes matrices column by column.
        return np.repeat(np.array(node.matrix, np.float64).reshape(4, 4).T[None], n, axis=0)
    parts = {}
    for name, rest in _REST.items():
        given = channels.get(name)
        own = getattr(node, name) or rest
        parts[name] = given if given is not None else np.repeat(np.array(own, np.float64)[None], n, axis=0)
    return compose(parts["translation"], quaternion_matrix(parts["rotation"]), parts["scale"])


def _unsaid(node: Any, channels: dict[str, Array]) -> dict[str, Array]:
    """The first picture's values of what is animated and has no rest of its own: else all parts of a face rest in one place."""
    return {name: values[:1] for name, values in channels.items() if name in _REST and not getattr(node, name) and not node.matrix}


def _extent(document: Any, data: Accessors) -> tuple[float, float, Array]:
    """The first and the last key of all animations, s, and the times of the channel that has most of them."""
    inputs = {
        animation.samplers[channel.sampler].input
        for animation in document.animations or []
        for channel in animation.channels or []
        if channel.target is not None and channel.target.node is not None
    }
    keys = [data.read(index)[:, 0] for index in sorted(inputs)]
    if not keys:
        return 0.0, 0.0, np.zeros(0)
    return min(float(k.min()) for k in keys), max(float(k.max()) for k in keys), max(keys, key=len)


def _channels(document: Any, data: Accessors, times: Array) -> dict[int, dict[str, Array]]:
    """By node: 'translation' [shape=(n, 3)], 'rotation' [shape=(n, 4)], 'scale' [shape=(n, 3)], 'weights' [shape=(n, k)]."""
    found: dict[int, dict[str, Array]] = {}
    for animation in document.animations or []:
        for channel in animation.channels or []:
            if channel.target is None or channel.target.node is None:
                continue
            sampler = animation.samplers[channel.sampler]
            keys, values = data.read(sampler.input)[:, 0], data.read(sampler.output)
            if not len(keys) or (np.diff(keys) < 0).any():
                raise ValueError("an animation's times do not rise")
            found.setdefault(channel.target.node, {})[channel.target.path] = _sample(
                keys, values, sampler.interpolation or "LINEAR", channel.target.path, times
            )
    return found


def _sample(keys: Array, values: Array, how: str, path: str, times: Array) -> Array:
    """Values at times, as glTF 2.0 appendix C defines LINEAR, STEP and CUBICSPLINE; held before the first and after the last key."""
    per_key = 3 if how == "CUBICSPLINE" else 1
    values = values.reshape(len(keys), per_key, -1)
    low = np.clip(np.searchsorted(keys, times, side="right") - 1, 0, len(keys) - 1)
    high = np.minimum(low + 1, len(keys) - 1)
    span = keys[high] - keys[low]
    t = np.where(span > 0, np.clip((times - keys[low]) / np.where(span > 0, span, 1), 0, 1), 0.0)
    if how == "STEP":
        return values[low, 0]
    if how == "CUBICSPLINE":
        t1, d = t[:, None], span[:, None]
        t2, t3 = t1**2, t1**3
        return (
            (2 * t3 - 3 * t2 + 1) * values[low, 1]
            + d * (t3 - 2 * t2 + t1) * values[low, 2]
            + (3 * t2 - 2 * t3) * values[high, 1]
            + d * (t3 - t2) * values[high, 0]
        )
    if path == "rotation":
        return slerp(values[low, 0], values[high, 0], t)
    return values[low, 0] + t[:, None] * (values[high, 0] - values[low, 0])


def _cameras(document: Any, nodes: list[Any], names: list[str], n: int) -> dict[str, SceneCamera]:
    found = {}
    for name, node in zip(names, nodes, strict=True):
        if node.camera is None:
            continue
        lens = (document.cameras or ())[node.camera].perspective
        if lens is not None and lens.yfov and 0 < lens.yfov < np.pi:
            found[name] = SceneCamera(name, vertical_fov_deg=np.full(n, np.degrees(lens.yfov)))
    return found


def _morphs(document: Any, nodes: list[Any], names: list[str], channels: dict[int, dict[str, Array]]) -> dict[str, Array]:
    found = {}
    for index, parts in channels.items():
        weights = parts.get("weights")
        if weights is None or nodes[index].mesh is None:
            continue
        extras = (document.meshes or ())[nodes[index].mesh].extras or {}
        targets = extras.get("targetNames") or [f"target_{i}" for i in range(weights.shape[1])]
        for column, target in zip(weights.T, targets, strict=False):
            found[f"{names[index]}.{target}"] = column
    return found
