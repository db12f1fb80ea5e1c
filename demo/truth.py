"""What a take truly shows, from its nodes alone: marks in the picture, mouths, gaze, breath, slip. The known answers for tests.

Picture positions are fractions of width and height, origin top left; frames count from 0 in arrays.
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

import puppets
import story
from acting import Performance
from rig import HEAD_M, SIDES, Pose

MARKS = {
    "mouth_left": "mouth_left", "mouth_right": "mouth_right", "lip_upper": "lip_upper", "lip_lower": "lip_lower",
    "nose": "nose", "chin": "chin", "head_top": "head_top", "chest": "chest_mark", "hips": "hips",
    **{f"{part}_{s}": f"{part}_{s}" for part in ("eye", "iris", "brow", "foot", "knee", "shoulder") for s, _ in SIDES},
    **{f"hand_{s}": f"palm_{s}" for s, _ in SIDES},
    **{f"lid_{part}_{s}": f"lidmark_{part}_{s}" for part in ("upper", "lower") for s, _ in SIDES},
}  # fmt: skip
"""mark -> node without the character's name. 'eye_left_edge' is on the ball's outline as the camera sees it, see eye_edge."""


def shot_of(shots: list[dict], frame: int) -> int:
    return next(k for k, s in enumerate(shots) if s["first"] <= frame <= s["last"])


def project(pose: Pose, points: np.ndarray, shots: list[dict]) -> np.ndarray:
    """World points [n, 3] to the picture [n, 2] through each frame's camera; nan behind it."""
    out = np.full((pose.n, 2), np.nan)
    for k, shot in enumerate(shots):
        rows = slice(shot["first"], shot["last"] + 1)
        out[rows] = project_by(pose, points, shot["camera"], story.FOCAL_MM[k])[rows]
    return out


def project_by(pose: Pose, points: np.ndarray, camera: str, focal_mm: float) -> np.ndarray:
    """The same through one camera on every frame."""
    world = np.linalg.inv(pose.world(puppets.rig(), camera))
    seen = np.einsum("nij,nj->ni", world[:, :3, :3], points) + world[:, :3, 3]
    depth, focal = -seen[:, 2], focal_mm / np.asarray(story.FILM_BACK_MM)
    with np.errstate(invalid="ignore", divide="ignore"):
        xy = np.stack([0.5 + seen[:, 0] / depth * focal[0], 0.5 - seen[:, 1] / depth * focal[1]], -1)
    return np.where(depth[:, None] > 0.03, xy, np.nan)


def node_at(pose: Pose, node: str) -> np.ndarray:
    return pose.world(puppets.rig(), node)[:, :3, 3]


def eye_edge(pose: Pose, who: str, side: str, shots: list[dict]) -> np.ndarray:
    """World point on the eyeball, level with its centre, where it turns away from the camera on the outer side."""
    rig = puppets.rig()
    centre = node_at(pose, f"{who}_eye_{side}")
    radius = puppets.LOOKS[who].eye * HEAD_M
    out = np.empty_like(centre)
    outer = pose.world(rig, f"{who}_head")[:, :3, 0] * (1.0 if side == "left" else -1.0)
    for shot in shots:
        rows = slice(shot["first"], shot["last"] + 1)
        sight = centre[rows] - node_at(pose, shot["camera"])[rows]
        sight /= np.linalg.norm(sight, axis=1, keepdims=True)
        across = outer[rows] - np.sum(outer[rows] * sight, axis=1, keepdims=True) * sight
        out[rows] = centre[rows] + radius * across / np.linalg.norm(across, axis=1, keepdims=True)
    return out


def marks(pose: Pose, who: str, shots: list[dict]) -> dict[str, np.ndarray]:
    """mark -> picture [n, 2]."""
    out = {mark: project(pose, node_at(pose, f"{who}_{node}"), shots) for mark, node in MARKS.items()}
    for side, _ in SIDES:
        out[f"eye_{side}_edge"] = project(pose, eye_edge(pose, who, side, shots), shots)
    return out


def prop_marks(pose: Pose, shots: list[dict]) -> dict[str, np.ndarray]:
    """The lantern's grip (its nearer knob), its hood and its flame."""
    knob = node_at(pose, "Lantern_handle")
    hood = _inside(pose, "Lantern_body", (0, -0.075, 0.024))
    return {
        "handle": project(pose, knob, shots),
        "grip": project(pose, node_at(pose, "Lantern"), shots),
        "hood": project(pose, hood, shots),
        "flame": project(pose, node_at(pose, "Lantern_flame"), shots),
    }


def _inside(pose: Pose, node: str, at) -> np.ndarray:
    world = pose.world(puppets.rig(), node)
    return world[:, :3, :3] @ np.asarray(at, float) + world[:, :3, 3]


def mouth(pose: Pose, who: str) -> dict[str, np.ndarray]:
    """opening and width in the mouth's own widths at rest, from the lips' nodes."""
    rig = puppets.rig()
    rest = np.linalg.norm(rig.rest[f"{who}_mouth_left"] - rig.rest[f"{who}_mouth_right"])
    at = {m: pose.move.get(f"{who}_{m}") for m in ("mouth_left", "mouth_right", "lip_upper", "lip_lower")}
    return {
        "opening": np.linalg.norm(at["lip_upper"] - at["lip_lower"], axis=1) / rest,
        "width": np.linalg.norm(at["mouth_left"] - at["mouth_right"], axis=1) / rest,
    }


def gaze(pose: Pose, who: str, aims: np.ndarray) -> dict[str, np.ndarray]:
    """Each eye's direction, world, and its angle (degrees) to the point that should be looked at."""
    out = {}
    for side, _ in SIDES:
        world = pose.world(puppets.rig(), f"{who}_eye_{side}")
        direction = world[:, :3, 2]
        wanted = aims - world[:, :3, 3]
        wanted /= np.linalg.norm(wanted, axis=1, keepdims=True)
        out[f"direction_{side}"] = direction
        out[f"off_deg_{side}"] = np.degrees(np.arccos(np.clip(np.sum(direction * wanted, axis=1), -1, 1)))
    return out


def visible(shots: list[dict], who: str, n: int) -> np.ndarray:
    """Oona is not in her own view."""
    out = np.ones(n, bool)
    if who == "Oona":
        out[shots[1]["first"] : shots[1]["last"] + 1] = False
    return out


def everything(act: Performance, shots: list[dict]) -> Mapping[str, np.ndarray]:
    """One flat dictionary of arrays, float32, names 'Oona.mark.nose' and the like."""
    out: dict[str, np.ndarray] = {}
    for who in puppets.LOOKS:
        seen = visible(shots, who, act.pose.n)
        for mark, xy in marks(act.pose, who, shots).items():
            out[f"{who}.mark.{mark}"] = np.where(seen[:, None], xy, np.nan)
        for name, values in {**mouth(act.pose, who), **gaze(act.pose, who, act.aims[who])}.items():
            out[f"{who}.{name}"] = values
        out[f"{who}.breath"] = act.lifts[who]
        hips, chest = node_at(act.pose, f"{who}_hips"), node_at(act.pose, f"{who}_chest_mark")
        out[f"{who}.chest_over_hips_m"] = chest[:, 1] - hips[:, 1]
    for mark, xy in prop_marks(act.pose, shots).items():
        out[f"lantern.mark.{mark}"] = xy
    slip = np.linalg.norm(node_at(act.pose, "Lantern") - node_at(act.pose, "Bram_grip"), axis=1)
    out["lantern.slip_m"] = slip
    return {k: v.astype(np.float32) for k, v in out.items()}
