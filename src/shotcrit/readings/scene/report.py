"""What of a scene could not be taken, and why: one sentence each."""

from __future__ import annotations

import json
from collections.abc import Collection, Iterator

from shotcrit.readings.cast import Cast, Marked
from shotcrit.readings.scene.acting import camera_plan
from shotcrit.readings.scene.model import Scene
from shotcrit.readings.scene.parts import missing_nodes, nearest, suggest_parts

COST = "so nothing tells where things are in the picture, nor where looks should go"


def scene_words(scene: Scene, cast: Cast | None, *, first_frame: int, frames: int) -> tuple[str, ...]:
    """What is missing in the scene or in the cast, for who reads the measurement."""
    if cast is None:
        return (f"nothing of {scene.name} is used: a cast has to say which of its nodes is what{_by_names(scene.nodes)}",)
    said = [line for owner in cast.marked for line in _of_owner(scene, cast, owner)]
    return (*said, *_of_cameras(scene, camera_plan(scene, cast, first_frame=first_frame, frames=frames), first_frame))


def _of_owner(scene: Scene, cast: Cast, owner: Marked) -> Iterator[str]:
    lost = missing_nodes(owner.scene, (*scene.nodes, *scene.morphs))
    if lost:
        yield f"the cast names for {owner.name} {lost}"
    taken = {node for other in cast.marked for node in other.scene.values()}
    own = [node for node in scene.nodes if owner.name.lower() in node.lower() and node not in taken]
    if not owner.scene and (own or len(cast.marked) == 1):
        yield f"nothing of {scene.name} is used for {owner.name}, since the cast names no nodes{_by_names(own or scene.nodes)}"


def _by_names(nodes: Collection[str]) -> str:
    """What names suggest, as it may be pasted into a cast; or ''."""
    parts = suggest_parts(nodes)
    return f'; by their names it may be "scene": {json.dumps(parts, ensure_ascii=False)}' if parts else ""


def _of_cameras(scene: Scene, plan: list[str | None], first_frame: int) -> Iterator[str]:
    """Why some frame has no camera."""
    known = sorted({camera.node for camera in scene.cameras.values()})
    if not known:
        yield f"{scene.name} holds no camera, {COST}"
    elif not any(plan):
        yield f"the cast does not say which camera of {scene.name} took which frames ({', '.join(known[:6])}), {COST}"
    elif lost := [(index, node) for index, node in enumerate(plan) if node is None or node not in scene.cameras]:
        index, node = lost[0]
        at = index + first_frame
        what = (
            f"the cast names no camera for frame {at}"
            if node is None
            else f"{scene.name} has no camera '{node}'{nearest(node, scene.cameras)}"
        )
        yield f"{what}, {COST}"
