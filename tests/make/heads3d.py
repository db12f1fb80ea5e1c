"""A head in three dimensions, ray cast with numpy through a pinhole camera: spherical eyes behind lids, a mouth on a curved face.

Camera frame: x to screen right, y down, z into the picture (as OpenCV). Head frame: the same axes when the head faces the camera, so the face looks to -z,
and the character's own left is +x. Lengths in head heights (1 = chin to crown). All truths are exact projections.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import cv2
import numpy as np
import numpy.typing as npt

from tests.make.moving import noise_texture

Floats = npt.NDArray[np.float64]

RADII = np.array([0.36, 0.5, 0.42])
EYE_AT = {"left": np.array([0.15, -0.07, -0.33]), "right": np.array([-0.15, -0.07, -0.33])}
EYE_RADIUS = 0.1
IRIS = np.deg2rad(30)
"""Half angle of the iris as seen from the eyeball's centre; 29 degrees in people (asin(5.86 / 12): Rüfer et al. 2005, Bekerman et al. 2014)."""
PUPIL = np.deg2rad(13)
LID = 1.06
MOUTH_Y = 0.24
MOUTH_WIDTH = 0.24
GREY = {
    "skin": 165.0,
    "lip": 115.0,
    "inside": 38.0,
    "teeth": 205.0,
    "sclera": 225.0,
    "iris": 85.0,
    "pupil": 25.0,
    "brow": 60.0,
    "back": 95.0,
}


@dataclass(frozen=True)
class Pose:
    """One frame. turn : degrees yaw, pitch, roll of the head; at : head's middle, camera frame
    gaze : direction of both eyes in the head frame as degrees (right on the screen +, down +); lids : 0 shut .. 1 open
    opening : gap of the lips, width : corner to corner, both over the mouth's width at rest
    """

    turn: tuple[float, float, float] = (0, 0, 0)
    at: tuple[float, float, float] = (0, 0, 2)
    gaze: tuple[float, float] = (0, 0)
    lids: float = 1.0
    opening: float = 0.0
    width: float = 1.0


@dataclass(frozen=True)
class Heads:
    """A film and its truth; positions in px, pixel centres at whole numbers.

    frames : uint8 luma; marks : by name, [shape=(n_frames, 2)]; gaze : by side, unit vectors [shape=(n_frames, 3)], camera frame
    opening, width, lids : [shape=(n_frames,)]; camera : [shape=(3, 3)]
    """

    frames: list[npt.NDArray[np.uint8]]
    marks: dict[str, Floats]
    gaze: dict[str, Floats]
    opening: Floats
    width: Floats
    lids: Floats
    camera: Floats = field(default_factory=lambda: np.eye(3))


def rotation(turn: tuple[float, float, float]) -> Floats:
    """Yaw about y, then pitch about x, then roll about z, degrees."""
    yaw, pitch, roll = np.deg2rad(turn)
    about_y = np.array([[np.cos(yaw), 0, np.sin(yaw)], [0, 1, 0], [-np.sin(yaw), 0, np.cos(yaw)]])
    about_x = np.array([[1, 0, 0], [0, np.cos(pitch), -np.sin(pitch)], [0, np.sin(pitch), np.cos(pitch)]])
    about_z = np.array([[np.cos(roll), -np.sin(roll), 0], [np.sin(roll), np.cos(roll), 0], [0, 0, 1]])
    return about_z @ about_x @ about_y


def gaze_direction(gaze: tuple[float, float]) -> Floats:
    """Unit vector in the head frame; (0, 0) looks straight out of the face."""
    right, down = np.deg2rad(gaze)
    return np.array([np.sin(right) * np.cos(down), np.sin(down), -np.cos(right) * np.cos(down)])


def render(
    poses: list[Pose], size: tuple[int, int] = (360, 360), *, fov: float = 35, noise: float = 1.5, quality: int | None = 90, seed: int = 4
) -> Heads:
    """Film of `poses`; fov: vertical field of view, degrees."""
    wide, high = size
    focal = high / 2 / np.tan(np.deg2rad(fov) / 2)
    camera = np.array([[focal, 0, (wide - 1) / 2], [0, focal, (high - 1) / 2], [0, 0, 1]])
    rng = np.random.default_rng(seed)
    skin = noise_texture(512, grain=2.0, seed=seed, contrast=13) - 128
    backdrop = noise_texture(max(size), grain=6, seed=seed + 1, contrast=12)[:high, :wide] - 128 + GREY["back"]
    frames = []
    for index, pose in enumerate(poses):
        frame = _picture(pose, size, camera, skin, backdrop, index / max(1, len(poses)))
        frame = np.clip(np.rint(frame + noise * rng.standard_normal(frame.shape)), 0, 255).astype(np.uint8)
        if quality is not None:
            frame = cv2.imdecode(cv2.imencode(".jpg", frame, [cv2.IMWRITE_JPEG_QUALITY, quality])[1], cv2.IMREAD_GRAYSCALE)
        frames.append(frame)
    return Heads(frames, *_truth(poses, camera), camera)


def _truth(poses: list[Pose], camera: Floats) -> tuple[dict[str, Floats], dict[str, Floats], Floats, Floats, Floats]:
    names = list(head_points(Pose()))
    marks = {n: np.array([project(head_points(p)[n], p, camera) for p in poses]) for n in names}
    gaze = np.array([rotation(p.turn) @ gaze_direction(p.gaze) for p in poses])
    series = [np.array([getattr(p, n) for p in poses]) for n in ("opening", "width", "lids")]
    return marks, {"left": gaze, "right": gaze}, series[0], series[1], series[2]


def project(point: Floats, pose: Pose, camera: Floats) -> Floats:
    seen = camera @ (rotation(pose.turn) @ point + np.array(pose.at))
    return seen[:2] / seen[2]


def on_face(x: float, y: float) -> Floats:
    """The point of the face's front at head coordinates x, y."""
    z = -RADII[2] * np.sqrt(max(0.0, 1 - (x / RADII[0]) ** 2 - (y / RADII[1]) ** 2))
    return np.array([x, y, z])


def head_points(pose: Pose) -> dict[str, Floats]:
    half, gap = pose.width * MOUTH_WIDTH / 2, pose.opening * MOUTH_WIDTH
    points = {
        "mouth_left": on_face(half, MOUTH_Y), "mouth_right": on_face(-half, MOUTH_Y),
        "lip_upper": on_face(0, MOUTH_Y - 0.3 * gap), "lip_lower": on_face(0, MOUTH_Y + 0.7 * gap),
        "nose": on_face(0, 0.1), "chin": on_face(0, 0.44), "head_top": on_face(0, -0.49),
    }  # fmt: skip
    back = rotation(pose.turn).T
    for side, at in EYE_AT.items():
        points[f"eye_{side}"] = at
        ray = back @ (rotation(pose.turn) @ at + np.array(pose.at))
        far = np.linalg.norm(ray)
        across = np.cross(ray / far, back @ np.array([0, 1.0, 0]))
        across /= np.linalg.norm(across)
        # The outline of a sphere seen from `far` away: the circle where rays touch it, nearer to the eye by R^2 / far.
        rim = EYE_RADIUS * np.sqrt(1 - (EYE_RADIUS / far) ** 2)
        points[f"eye_{side}_edge"] = at - ray / far * EYE_RADIUS**2 / far + across * rim * (1 if side == "left" else -1) * -1
        points[f"iris_{side}"] = at + EYE_RADIUS * gaze_direction(pose.gaze)
    return points


def _picture(pose: Pose, size: tuple[int, int], camera: Floats, skin: Floats, backdrop: Floats, phase: float) -> Floats:
    """Float grey; twice as fine inside, averaged down."""
    left, top, right, bottom = _box(pose, size, camera)
    wide, high = right - left, bottom - top
    xs, ys = (np.arange(2 * wide) + 0.5) / 2 - 0.5 + left, (np.arange(2 * high) + 0.5) / 2 - 0.5 + top
    rays = np.empty((2 * high, 2 * wide, 3), np.float32)
    rays[..., 0], rays[..., 1], rays[..., 2] = ((xs - camera[0, 2]) / camera[0, 0])[None], ((ys - camera[1, 2]) / camera[1, 1])[:, None], 1
    back = rotation(pose.turn).T
    rays = (rays.reshape(-1, 3) @ back.T.astype(np.float32)).astype(np.float32)
    start = (back @ -np.array(pose.at)).astype(np.float32)
    grey = np.repeat(np.repeat(backdrop[top:bottom, left:right], 2, 0), 2, 1).astype(np.float32).ravel()
    light = back @ _unit(np.array([0.7 * np.cos(2 * np.pi * phase), -0.6, -0.8]))
    depth = np.full(len(rays), np.inf, np.float32)
    _paint_face(grey, depth, rays, start, pose, skin, light)
    for side in ("left", "right"):
        _paint_eye(grey, depth, rays, start, pose, EYE_AT[side], light)
    frame = backdrop.copy()
    frame[top:bottom, left:right] = cv2.resize(grey.reshape(2 * high, 2 * wide), (wide, high), interpolation=cv2.INTER_AREA)
    return frame


def _box(pose: Pose, size: tuple[int, int], camera: Floats) -> tuple[int, int, int, int]:
    """Left, top, right, bottom of what the head can cover."""
    x, y = camera[0, 0] * np.array(pose.at[:2]) / pose.at[2] + camera[:2, 2]
    reach = 0.6 * camera[0, 0] / pose.at[2]
    return max(0, int(x - reach)), max(0, int(y - reach)), min(size[0], int(x + reach) + 2), min(size[1], int(y + reach) + 2)


def _unit(v: Floats) -> Floats:
    return v / np.linalg.norm(v)


def _hit(rays: Floats, start: Floats, middle: Floats, radii: Floats | float) -> Floats:
    """Distance along each ray to an ellipsoid, inf where it misses."""
    d, o = rays / radii, (start - middle) / radii
    a, b, c = (d * d).sum(1), d @ o, o @ o - 1
    root = b * b - a * c
    with np.errstate(invalid="ignore"):
        return np.where(root > 0, (-b - np.sqrt(np.maximum(root, 0))) / a, np.inf)


def _shade(normal: Floats, light: Floats) -> Floats:
    return 0.62 + 0.42 * np.clip(normal @ light.astype(np.float32), 0, 1)


def _paint_face(grey: Floats, depth: Floats, rays: Floats, start: Floats, pose: Pose, skin: Floats, light: Floats) -> None:
    far = _hit(rays, start, np.zeros(3, np.float32), RADII.astype(np.float32))
    on = np.flatnonzero(np.isfinite(far))
    p = start + rays[on] * far[on, None]
    normal = p / RADII**2
    normal /= np.linalg.norm(normal, axis=1, keepdims=True)
    grain = _look_up(skin.astype(np.float32), (256 + 480 * p[:, :2]).astype(np.float32))
    colour = GREY["skin"] + grain
    front = p[:, 2] < 0
    brow = front & (np.abs(np.abs(p[:, 0]) - 0.15) < 0.1) & (np.abs(p[:, 1] + 0.22 + 0.3 * (np.abs(p[:, 0]) - 0.15) ** 2 * 10) < 0.018)
    colour = np.where(brow, GREY["brow"], colour)
    nostril = front & (np.hypot((np.abs(p[:, 0]) - 0.03) / 1.4, p[:, 1] - 0.12) < 0.012)
    colour = np.where(nostril, GREY["inside"], colour)
    colour = np.where(p[:, 1] < -0.36 + 0.05 * np.sin(18 * p[:, 0]), GREY["brow"] + grain, colour)
    grey[on] = _mouth(colour, p, front, pose) * _shade(normal, light)
    depth[on] = far[on]


def _look_up(texture: Floats, at: Floats) -> Floats:
    """Bilinear values of `texture` at px `at` [shape=(n, 2)]; in rows of 1024, as remap takes no longer ones."""
    padded = np.concatenate([at, np.zeros((-len(at) % 1024, 2), np.float32)]).reshape(-1, 1024, 2)
    return cv2.remap(texture, padded[..., 0], padded[..., 1], cv2.INTER_LINEAR).ravel()[: len(at)]


def _mouth(colour: Floats, p: Floats, front: Floats, pose: Pose) -> Floats:
    half, gap = pose.width * MOUTH_WIDTH / 2, pose.opening * MOUTH_WIDTH
    bow = np.clip(1 - (p[:, 0] / half) ** 2, 0, None)
    inner_up, inner_down = MOUTH_Y - 0.3 * gap * bow, MOUTH_Y + 0.7 * gap * bow
    thick = 0.035 * np.sqrt(bow)
    inside_x = front & (np.abs(p[:, 0]) < half)
    lips = inside_x & (p[:, 1] > inner_up - thick) & (p[:, 1] < inner_down + thick)
    hole = inside_x & (p[:, 1] > inner_up) & (p[:, 1] < inner_down)
    seam = inside_x & (np.abs(p[:, 1] - MOUTH_Y) < 0.004)
    teeth = hole & (p[:, 1] < MOUTH_Y - 0.3 * gap + 0.03) & (np.abs(p[:, 0]) < 0.8 * half)
    colour = np.where(lips, GREY["lip"], colour)
    colour = np.where(hole | seam & (gap < 0.008), GREY["inside"], colour)
    return np.where(teeth, GREY["teeth"], colour)


def _paint_eye(grey: Floats, depth: Floats, rays: Floats, start: Floats, pose: Pose, at: Floats, light: Floats) -> None:
    at = at.astype(np.float32)
    for radius, is_lid in ((EYE_RADIUS, False), (EYE_RADIUS * LID, True)):
        far = _hit(rays, start, at, np.float32(radius))
        on = np.flatnonzero(far < np.where(np.isfinite(depth), depth + 0.0, np.inf)) if not is_lid else np.flatnonzero(far < depth)
        n = (start + rays[on] * far[on, None] - at) / radius
        colour = _lid(n, pose) if is_lid else _ball(n, pose)
        keep = np.isfinite(colour)
        grey[on[keep]] = (colour * _shade(n, light))[keep]
        depth[on[keep]] = far[on[keep]]


def _ball(n: Floats, pose: Pose) -> Floats:
    angle = np.arccos(np.clip(n @ gaze_direction(pose.gaze).astype(np.float32), -1, 1))
    colour = np.where(angle < IRIS, GREY["iris"] + 25 * (angle > 0.8 * IRIS) * -1, GREY["sclera"])
    colour = np.where(angle < PUPIL, GREY["pupil"], colour)
    glint = n @ _unit(np.array([0.25, -0.35, -0.9])).astype(np.float32) > np.cos(0.09)
    return np.where(glint, 255.0, colour)


def _lid(n: Floats, pose: Pose) -> Floats:
    """Skin on the shell outside of the slit, nan inside. The slit is half as high at its corners' side as a lens is."""
    reach = np.clip(1 - (n[:, 0] / 0.95) ** 2, 0, None)
    up, down = np.deg2rad(-62 * pose.lids + 30 * (1 - pose.lids)), np.deg2rad(30 + 8 * pose.lids)
    height = np.arctan2(n[:, 1], -n[:, 2])
    middle = np.deg2rad(15)
    open_ = (height > middle + (up - middle) * reach) & (height < middle + (down - middle) * reach) & (n[:, 2] < 0) & (pose.lids > 0.02)
    return np.where(open_, np.nan, GREY["skin"] - 22 * (height < middle))
