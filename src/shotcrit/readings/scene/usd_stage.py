"""A USD stage, opened: a question in, arrays out. Only this file imports pxr, and it is loaded only elsewhere (see usd.py)."""

from __future__ import annotations

from typing import Any

import numpy as np
from pxr import Ar, Gf, Usd, UsdGeom

from shotcrit.errors import InputError
from shotcrit.readings.scene.model import MOST_NODES, check_nodes
from shotcrit.readings.scene.timing import first_code

# UsdGeomCamera gives focal length and apertures in tenths of a scene unit, which by its own documentation are mm when the unit is a cm.
TENTHS_OF_UNIT_IN_MM = 1.0
LEAST_HANDLE = 2
"""Time codes before the shot that count as a handle; a stage from 0 under a movie from 1 only counts otherwise (guess)."""


def read_stage(question: dict[str, Any]) -> dict[str, Any]:
    """Answer one question. Raises InputError with the reason alone when the file is not sound, MemoryError."""
    # No asset of the stage may be fetched from elsewhere than the disk: only the default resolver, no search path.
    Ar.SetPreferredResolver("ArDefaultResolver")
    try:
        return _read(Usd.Stage.Open(question["path"]), question)
    except (InputError, MemoryError):
        raise
    except Exception as problem:  # the library raises its own types for every kind of damage
        raise InputError("it cannot be opened") from problem


def _read(stage: Any, question: dict[str, Any]) -> dict[str, Any]:
    prims = _placed(stage)
    if not prims:
        raise InputError("it holds nothing that has a place")
    check_nodes(len(prims), len(question["seconds"]))
    says: list[str] = []
    codes = _time_codes(stage, prims, question, says)
    scale, turn = _units(stage, question, says)
    world = np.empty((len(prims), len(codes), 4, 4))
    for frame, code in enumerate(codes):
        _fill(world[:, frame], prims, Usd.TimeCode(code))
    rest = _rest(prims)
    cameras = [prim for prim in prims if prim.IsA(UsdGeom.Camera)]
    lenses = np.array([_lens(UsdGeom.Camera(prim), codes) for prim in cameras]) if cameras else np.zeros((0, 3, len(codes)))
    told = {"paths": [str(p.GetPath()) for p in prims], "cameras": [str(p.GetPath()) for p in cameras], "says": says}
    return {"world": _metres(world, scale, turn), "rest": _metres(rest, scale, turn), "lenses": lenses, **told}


def _placed(stage: Any) -> list[Any]:
    """Everything that has a place, no more of it than a scene may have."""
    found = []
    for prim in stage.Traverse():
        if prim.IsA(UsdGeom.Xformable):
            found.append(prim)
            if len(found) > MOST_NODES:
                break
    return found


def _time_codes(stage: Any, prims: list[Any], question: dict[str, Any], says: list[str]) -> Any:
    per_second = stage.GetTimeCodesPerSecond()
    if abs(per_second - question["rate"]) > 0.01 * question["rate"]:
        says.append(
            f"the stage has {per_second:g} time codes a second, the movie {question['rate']:.5g} frames a second; it is matched by time"
        )
    if stage.HasAuthoredTimeCodeRange():
        start, end = stage.GetStartTimeCode(), stage.GetEndTimeCode()
        origin = _said_origin(start, end, question, says)
    else:
        start, end = _sampled(prims)
        origin = _unsaid_origin(stage, start, end, question, says)
    codes = origin + (np.array(question["seconds"]) + question["offset_s"]) * per_second
    if end > start and codes[-1] > end + 1:
        says.append(f"the stage ends at time code {end:g}, before the movie; its last pose is held")
    return codes


def _said_origin(start: float, end: float, question: dict[str, Any], says: list[str]) -> float:
    """The time code of the first picture in a stage that says from where to where it goes."""
    first = float(question["first_frame"])
    if start + LEAST_HANDLE <= first <= end:
        says.append(
            f"the stage starts at time code {start:g}; the movie's first picture is taken at time code {first:g}, as it is numbered"
        )
        return first
    if start != first:
        says.append(f"the stage starts at time code {start:g}; that is taken for the movie's first picture, shown as {first:g}")
    return start


def _unsaid_origin(stage: Any, start: float, end: float, question: dict[str, Any], says: list[str]) -> float:
    """The same for a stage that does not say it: as its samples are numbered, else from 0 or from the first of them."""
    first = question["first_frame"]
    origin = first_code(start, end, first, question["seconds"][-1] * stage.GetTimeCodesPerSecond())
    if end > start and origin != first:
        says.append(
            f"the stage does not say where it starts; time code {origin:g} is taken for the movie's first picture, shown as {first}"
        )
    return origin


def _sampled(prims: list[Any]) -> tuple[float, float]:
    """First and last time sample of anything's place."""
    samples = [code for prim in prims for code in UsdGeom.Xformable(prim).GetTimeSamples()]
    return (min(samples), max(samples)) if samples else (0.0, 0.0)


def _units(stage: Any, question: dict[str, Any], says: list[str]) -> tuple[float, Any]:
    own = UsdGeom.GetStageMetersPerUnit(stage)
    scale = question["metres_per_unit"] or own
    if question["metres_per_unit"] and abs(scale - own) > 1e-9:
        says.append(f"the cast says {scale:g} m a unit, the stage {own:g}; the cast's word is taken")
    turn = np.eye(4)
    if UsdGeom.GetStageUpAxis(stage) == UsdGeom.Tokens.z:
        turn[:3, :3] = [[1, 0, 0], [0, 0, 1], [0, -1, 0]]
    return float(scale), turn


def _fill(out: Any, prims: list[Any], code: Any) -> None:
    cache = UsdGeom.XformCache(code)
    for index, prim in enumerate(prims):
        # Gf matrices multiply row vectors; transposed they multiply columns.
        out[index] = np.array(Gf.Matrix4d(cache.GetLocalToWorldTransform(prim))).T


def _rest(prims: list[Any]) -> Any:
    """Where everything is without animation, row by row as `prims`; what has time samples and no default rests at its first sample."""
    found: dict[str, Any] = {}
    for prim in prims:  # parents come before their children
        local, resets = _resting(UsdGeom.Xformable(prim))
        parent = prim.GetParent()
        while not resets and parent and str(parent.GetPath()) not in found:
            parent = parent.GetParent()
        found[str(prim.GetPath())] = local if resets or not parent else local * found[str(parent.GetPath())]
    # Gf matrices multiply row vectors; transposed they multiply columns.
    return np.array([np.array(found[str(prim.GetPath())]).T for prim in prims])


def _resting(form: Any) -> tuple[Any, bool]:
    """(local matrix at rest, whether it leaves its parents' transforms out)."""
    local = Gf.Matrix4d(1)
    for op in reversed(form.GetOrderedXformOps()):
        at_rest = Usd.TimeCode.Default()
        local = local * op.GetOpTransform(at_rest if op.Get(at_rest) is not None else Usd.TimeCode.EarliestTime())
    return local, bool(form.GetResetXformStack())


def _metres(matrices: Any, scale: float, turn: Any) -> Any:
    """In metres, y up; `matrices` itself, changed: there may be half a gigabyte of them."""
    for rows in matrices if matrices.ndim == 4 else [matrices]:
        rows[:] = turn @ rows
    matrices[..., :3, 3] *= scale
    return matrices


def _lens(camera: Any, codes: Any) -> Any:
    attributes = (camera.GetFocalLengthAttr(), camera.GetHorizontalApertureAttr(), camera.GetVerticalApertureAttr())
    return [[attribute.Get(Usd.TimeCode(code)) * TENTHS_OF_UNIT_IN_MM for code in codes] for attribute in attributes]
