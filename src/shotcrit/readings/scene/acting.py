"""What characters and props do, exactly, from a scene: level 3.

Mouth: opening = (lip gap - shut gap) / rest mouth width, width = corner distance / rest width. The shut gap is the least of the rest
pose's gap
and of the shot's own: node positions lie on the lips' surface or inside them, so a gap of 0 cannot be asked for.
Eyes: from eyeball to iris node where the cast names both, else the eye node's own axis that points out of the face in the rest pose.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from shotcrit.errors import InputError
from shotcrit.geometry.cameras import Lens, direction_to_camera, lens_from_film_back, lens_from_fov, project, to_camera
from shotcrit.geometry.rigid import unscaled
from shotcrit.readings.acting import Acting, CameraView, Gaze, Head, MarkTrack, Mouth, Side
from shotcrit.readings.cast import Cast, Marked
from shotcrit.readings.scene.model import Scene, position
from shotcrit.readings.scene.parts import missing_nodes

Array = npt.NDArray[np.float64]
SIDES: tuple[Side, Side] = ("left", "right")
LIPS_MEET = 0.02
"""Opening below which lips count as met: 2 % of the mouth's width, about 1 mm of a 50 mm mouth (guess)."""
MEET_SLOPE = 0.01
"""Width of the passage from met to apart, same unit (guess)."""


def scene_cameras(scene: Scene, cast: Cast, *, first_frame: int, frames: int, width: int, height: int) -> tuple[CameraView, ...]:
    """The camera of each frame, as the cast's `cameras` say, else the scene's only camera. () when a frame would be without one."""
    plan = camera_plan(scene, cast, first_frame=first_frame, frames=frames)
    if any(node is None or node not in scene.cameras for node in plan):
        return ()
    return tuple(_view(scene, str(node), i, width, height) for i, node in enumerate(plan))


def camera_plan(scene: Scene, cast: Cast, *, first_frame: int, frames: int) -> list[str | None]:
    """The name of each frame's camera; None where nothing says which."""
    plan: list[str | None] = [None] * frames
    for camera in cast.cameras:
        for index in range(max(0, camera.first - first_frame), min(frames, camera.last - first_frame + 1)):
            plan[index] = camera.node
    if not cast.cameras and len({id(c) for c in scene.cameras.values()}) == 1:
        plan = [next(iter(scene.cameras))] * frames
    return plan


def _view(scene: Scene, node: str, frame: int, width: int, height: int) -> CameraView:
    world = scene.nodes[node][frame].copy()
    world[:3, :3] = unscaled(world[:3, :3])
    # Scene cameras look along -z with y up; ours look along +z with y down.
    flip = np.diag([1.0, -1.0, -1.0, 1.0])
    lens = _lens(scene, node, frame, width, height)
    return CameraView(matrix=lens.matrix.astype(np.float32), world_to_camera=(flip @ np.linalg.inv(world)).astype(np.float32))


def _lens(scene: Scene, node: str, frame: int, width: int, height: int) -> Lens:
    camera = scene.cameras[node]
    if camera.vertical_fov_deg is not None:
        return lens_from_fov(float(camera.vertical_fov_deg[frame]), width=width, height=height)
    focal, wide, high = camera.focal_mm, camera.back_width_mm, camera.back_height_mm
    if focal is None or wide is None or high is None:
        raise InputError(f"camera {node} of {scene.name} has neither focal length nor field of view; export it with its lens")
    return lens_from_film_back(float(focal[frame]), float(wide[frame]), float(high[frame]), width=width, height=height)


def acting_from_scene(scene: Scene, cast: Cast, cameras: Sequence[CameraView], *, width: int, height: int) -> tuple[Acting, ...]:
    """Level-3 acting of every character and prop that the cast ties to the scene, in the cast's order.

    Without cameras picture positions and camera directions are nan; world values are there all the same.
    """
    stage = _Stage(scene, cameras, width, height)
    return tuple(_acting(owner, stage) for owner in cast.marked if owner.scene)


class _Stage:
    """A scene seen through its cameras."""

    def __init__(self, scene: Scene, cameras: Sequence[CameraView], width: int, height: int) -> None:
        self.scene = scene
        self.size = np.array([width, height], np.float64)
        self.frames = len(next(iter(scene.nodes.values())))
        self.poses = np.array([c.world_to_camera for c in cameras], np.float64) if cameras else None
        self.lenses = [
            Lens(float(c.matrix[0, 0]), float(c.matrix[1, 1]), float(c.matrix[0, 2]), float(c.matrix[1, 2]), width, height) for c in cameras
        ]

    def pixels(self, world: Array) -> Array:
        """World [shape=(n, 3)] to pixels of the full-size frame [shape=(n, 2)]."""
        if self.poses is None:
            return np.full((self.frames, 2), np.nan)
        seen = to_camera(world, self.poses)
        return np.array([project(p, lens) for p, lens in zip(seen, self.lenses, strict=True)])

    def picture(self, world: Array) -> Array:
        return self.pixels(world) / self.size

    def directions(self, world: Array) -> Array:
        """World directions [shape=(n, 3)] to camera."""
        if self.poses is None:
            return np.full((self.frames, 3), np.nan)
        return direction_to_camera(world, self.poses)


def _acting(owner: Marked, stage: _Stage) -> Acting:
    nodes = {part: node for part, node in owner.scene.items() if node in stage.scene.nodes}
    spots = {part: position(stage.scene.nodes[node]) for part, node in nodes.items()}
    lost = missing_nodes(owner.scene, (*stage.scene.nodes, *stage.scene.morphs))
    marks = {part: _track(owner.name, part, nodes[part], stage) for part in spots}
    return Acting(
        who=owner.name,
        level=3,
        marks=marks,
        mouth=_mouth(nodes, spots, stage.scene),
        gaze={side: gaze for side in SIDES if (gaze := _gaze(nodes, spots, side, stage)) is not None},
        lids={side: lids for side in SIDES if (lids := _lids(owner, spots, side, stage.scene)) is not None},
        head=_head(nodes, spots, stage),
        lacks={"scene": lost} if lost else {},
    )


def _track(who: str, mark: str, node: str, stage: _Stage) -> MarkTrack:
    matrices = stage.scene.nodes[node]
    return MarkTrack(
        who=who,
        mark=mark,
        xy=stage.picture(position(matrices)).astype(np.float32),
        error_px=np.zeros(stage.frames, np.float32),
        world=position(matrices).astype(np.float32),
        turn=unscaled(matrices[:, :3, :3]).astype(np.float32),
    )


def _gap(spots: dict[str, Array], a: str, b: str) -> Array:
    return np.asarray(np.linalg.norm(spots[a] - spots[b], axis=1))


def _rest_gap(nodes: dict[str, str], a: str, b: str, scene: Scene) -> float:
    return float(np.linalg.norm(scene.rest[nodes[a]][:3, 3] - scene.rest[nodes[b]][:3, 3]))


def _mouth(nodes: dict[str, str], spots: dict[str, Array], scene: Scene) -> Mouth | None:
    if not {"mouth_left", "mouth_right", "lip_upper", "lip_lower"} <= set(spots):
        return None
    rest_width = _rest_gap(nodes, "mouth_left", "mouth_right", scene)
    if rest_width <= 0:
        return None
    gap = _gap(spots, "lip_upper", "lip_lower")
    shut = min(float(gap.min()), _rest_gap(nodes, "lip_upper", "lip_lower", scene))
    opening = (gap - shut) / rest_width
    exact = np.zeros(len(gap), np.float32)
    return Mouth(
        opening=opening.astype(np.float32),
        width=(_gap(spots, "mouth_left", "mouth_right") / rest_width).astype(np.float32),
        opening_error=exact,
        width_error=exact,
        meets=(1 / (1 + np.exp(np.clip((opening - LIPS_MEET) / MEET_SLOPE, -50, 50)))).astype(np.float32),
        taught=("shut", "open", "wide", "rest"),
    )


def _face_forward(nodes: dict[str, str], scene: Scene) -> Array | None:
    """Where the face points in the rest pose, world: left x up, with up the world's own (a rest pose stands upright)."""
    if not {"eye_left", "eye_right"} <= set(nodes):
        return None
    left = scene.rest[nodes["eye_left"]][:3, 3] - scene.rest[nodes["eye_right"]][:3, 3]
    forward = np.cross(left, np.array([0.0, 1.0, 0.0]))
    length = float(np.linalg.norm(forward))
    return forward / length if length > 0 else None


def _own_axis(node: str, forward: Array, scene: Scene) -> Array:
    """The node's local axis (of the six) that points most nearly forward in the rest pose."""
    local = unscaled(scene.rest[node][:3, :3]).T @ forward
    axis = np.zeros(3)
    axis[int(np.argmax(np.abs(local)))] = np.sign(local[int(np.argmax(np.abs(local)))])
    return axis


def _pointing(node: str, forward: Array, scene: Scene) -> Array:
    return unscaled(scene.nodes[node][:, :3, :3]) @ _own_axis(node, forward, scene)


def _gaze(nodes: dict[str, str], spots: dict[str, Array], side: Side, stage: _Stage) -> Gaze | None:
    eye, iris = f"eye_{side}", f"iris_{side}"
    if eye not in spots:
        return None
    forward = _face_forward(nodes, stage.scene)
    if iris in spots:
        world = spots[iris] - spots[eye]
        length = np.linalg.norm(world, axis=1, keepdims=True)
        world = world / np.where(length > 0, length, np.nan)
    elif forward is not None:
        world = _pointing(nodes[eye], forward, stage.scene)
    else:
        return None
    return Gaze(
        origin=stage.picture(spots[eye]).astype(np.float32),
        direction=stage.directions(world).astype(np.float32),
        error_deg=np.zeros(stage.frames, np.float32),
        iris=(stage.picture(spots[iris]) if iris in spots else np.full((stage.frames, 2), np.nan)).astype(np.float32),
        world_origin=spots[eye].astype(np.float32),
        world_direction=world.astype(np.float32),
    )


def _lids(owner: Marked, spots: dict[str, Array], side: Side, scene: Scene) -> npt.NDArray[np.float32] | None:
    """Lid opening as a fraction of the widest in the shot; from the two lids' nodes, or from a morph that shuts the eye (1 = shut)."""
    upper, lower = f"lid_upper_{side}", f"lid_lower_{side}"
    weight = scene.morphs.get(owner.scene.get(upper, ""))
    if weight is not None:
        return (1 - np.clip(weight, 0, 1)).astype(np.float32)
    if upper not in spots or lower not in spots:
        return None
    gap = _gap(spots, upper, lower)
    return (gap / gap.max()).astype(np.float32) if gap.max() > 0 else None


def _head(nodes: dict[str, str], spots: dict[str, Array], stage: _Stage) -> Head | None:
    forward = _face_forward(nodes, stage.scene)
    if "head" not in nodes and not {"head_top", "chin"} <= set(spots):
        return None
    facing = np.full((stage.frames, 3), np.nan)
    if "head" in nodes and forward is not None:
        facing = stage.directions(_pointing(nodes["head"], forward, stage.scene))
    height = np.full(stage.frames, np.nan)
    if {"head_top", "chin"} <= set(spots):
        height = np.linalg.norm(stage.pixels(spots["head_top"]) - stage.pixels(spots["chin"]), axis=1)
    return Head(direction=facing.astype(np.float32), height_px=height.astype(np.float32))
