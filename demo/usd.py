"""The take as USD: every node with its time samples, three cameras with focal length and film back, and plain stand-in shapes.

Y up, metres, 24 time codes a second, time code = shown frame.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
from pxr import Gf, Sdf, Usd, UsdGeom, Vt

import story
from puppets import CAMERAS, LOOKS
from rig import HEAD_AT, HEAD_M, Pose, Rig


def write(path: Path, rig: Rig, pose: Pose, *, first_frame: int) -> None:
    path.unlink(missing_ok=True)
    stage = Usd.Stage.CreateNew(str(path))
    UsdGeom.SetStageUpAxis(stage, UsdGeom.Tokens.y)
    UsdGeom.SetStageMetersPerUnit(stage, 1.0)
    stage.SetTimeCodesPerSecond(story.FPS)
    stage.SetFramesPerSecond(story.FPS)
    stage.SetStartTimeCode(first_frame)
    stage.SetEndTimeCode(first_frame + pose.n - 1)
    stage.SetMetadata("comment", "Lantern 040, the demo shot of Shotcrit. Made by demo/usd.py.")
    top = UsdGeom.Xform.Define(stage, "/Lantern040")
    stage.SetDefaultPrim(top.GetPrim())
    paths: dict[str, str] = {}
    for node, parent in rig.parents.items():
        paths[node] = f"{paths[parent] if parent else '/Lantern040'}/{node}"
        _node(stage, paths[node], rig, pose, node, first_frame)
    for k, camera in enumerate(CAMERAS):
        _lens(stage.GetPrimAtPath(paths[camera]), k)
    _standins(stage, paths)
    stage.GetRootLayer().Save()


def _node(stage: Usd.Stage, path: str, rig: Rig, pose: Pose, node: str, first: int) -> None:
    prim = (UsdGeom.Camera if node in CAMERAS else UsdGeom.Xform).Define(stage, path)
    common = UsdGeom.Xformable(prim)
    move = common.AddTranslateOp()
    move.Set(Gf.Vec3d(*map(float, rig.rest[node])))
    _sample(move, pose.move.get(node), first, lambda v: Gf.Vec3d(*map(float, v)))
    if node in pose.turn:
        turn = common.AddOrientOp(UsdGeom.XformOp.PrecisionFloat)
        turn.Set(Gf.Quatf(1, 0, 0, 0))
        _sample(turn, pose.turn[node], first, lambda q: Gf.Quatf(float(q[3]), float(q[0]), float(q[1]), float(q[2])))
    if node in pose.scale:
        scale = common.AddScaleOp()
        scale.Set(Gf.Vec3f(1, 1, 1))
        _sample(scale, pose.scale[node], first, lambda v: Gf.Vec3f(*map(float, v)))


def _sample(op: UsdGeom.XformOp, values: np.ndarray | None, first: int, made) -> None:
    """One sample a frame, or one in all for what never moves. The rest value stays as the default."""
    if values is None:
        return
    if np.ptp(values, axis=0).max() < 1e-9:
        op.Set(made(values[0]), float(first))
        return
    for i, value in enumerate(values):
        op.Set(made(value), float(first + i))


def _lens(prim: Usd.Prim, k: int) -> None:
    """USD gives focal length and apertures in tenths of a scene unit; written in millimetres here, as cameras are exported as a rule."""
    camera = UsdGeom.Camera(prim)
    camera.CreateFocalLengthAttr(float(story.FOCAL_MM[k]))
    camera.CreateHorizontalApertureAttr(float(story.FILM_BACK_MM[0]))
    camera.CreateVerticalApertureAttr(float(story.FILM_BACK_MM[1]))
    camera.CreateClippingRangeAttr(Gf.Vec2f(0.03, 400))


def _standins(stage: Usd.Stage, paths: dict[str, str]) -> None:
    """Spheres for heads and eyes and a cylinder for the lantern, so that the stage shows something in any viewer."""
    for who, looks in LOOKS.items():
        _ball(stage, f"{paths[f'{who}_head']}/shape", 0.40 * HEAD_M, tuple(HEAD_AT), (0.9, 0.7, 0.6))
        for side in ("left", "right"):
            _ball(stage, f"{paths[f'{who}_eye_{side}']}/shape", looks.eye * HEAD_M, (0, 0, 0), (0.95, 0.95, 0.95))
        _ball(stage, f"{paths[f'{who}_ribs']}/shape", 0.12, (0, 0, 0), (0.4, 0.4, 0.6))
    body = UsdGeom.Cylinder.Define(stage, f"{paths['Lantern_body']}/shape")
    body.CreateRadiusAttr(0.055)
    body.CreateHeightAttr(0.13)
    body.AddTranslateOp().Set(Gf.Vec3d(0, -0.17, 0))


def _ball(stage: Usd.Stage, path: str, radius: float, at, colour) -> None:
    ball = UsdGeom.Sphere.Define(stage, Sdf.Path(path))
    ball.CreateRadiusAttr(radius)
    ball.CreateDisplayColorAttr(Vt.Vec3fArray([Gf.Vec3f(*colour)]))
    ball.AddTranslateOp().Set(Gf.Vec3d(*map(float, at)))
