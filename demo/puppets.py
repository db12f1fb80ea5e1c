"""Oona and Bram, put together: their looks, their nodes, every mesh of the film."""

from __future__ import annotations

from functools import lru_cache

import bodies
import faces
import place
import sculpt
from meshes import Mesh
from rig import SIDES, Rig, character
from sculpt import Looks

LOOKS = {
    "Oona": Looks(jaw=0.94, nose=0.92, cheek=1.05, chin=0.92, eye=0.104, lip=1.08, brow=0.8),
    "Bram": Looks(jaw=1.07, nose=1.24, cheek=0.98, chin=1.15, eye=0.096, lip=0.95, brow=1.15),
}
SKIN = {"Oona": (0.97, 0.80, 0.70), "Bram": (0.89, 0.69, 0.57)}
LIPS = {"Oona": (0.80, 0.36, 0.36), "Bram": (0.70, 0.39, 0.36)}
HAIR = {"Oona": (0.74, 0.30, 0.13), "Bram": (0.27, 0.20, 0.17)}
BROAD = {"Oona": 1.0, "Bram": 1.16}
SHOULDER_X = {"Oona": 0.122, "Bram": 0.146}
HANDS = {"Oona": (), "Bram": ("right",)}
"""Which hands close about a grip."""
CAMERAS = ("CamA", "CamB", "CamC")


@lru_cache
def rig() -> Rig:
    out = Rig()
    for who, looks in LOOKS.items():
        character(out, who, face=sculpt.face_places(looks), chest_y=0.19, shoulder_x=SHOULDER_X[who])
    out.add("Bram_grip", "Bram_hand_right", (0, -0.062, 0.006))
    out.add("Lantern", None)
    out.add("Lantern_body", "Lantern")
    out.add("Lantern_handle", "Lantern", (bodies.GRIP_HALF_M + 0.004, 0, 0))
    out.add("Lantern_flame", "Lantern_body", (0, -0.190, 0))
    out.add("Place", None)
    out.add("Boat", None, place.BOAT_AT)
    out.add("Boat_light", "Boat", (0.1, 1.62, 0))
    for camera in CAMERAS:
        out.add(camera, None)
    return out


@lru_cache
def mouth_moves(who: str) -> dict[str, dict]:
    return sculpt.mouth_moves(LOOKS[who])


def person(who: str) -> list[Mesh]:
    looks, skin, hair = LOOKS[who], SKIN[who], HAIR[who]
    out = [faces.skull(who, looks, skin=skin, lips=LIPS[who])]
    out += faces.eyes(who, looks, skin)
    out += faces.brows(who, looks, tuple(0.80 * c for c in hair), thick=0.020 if who == "Oona" else 0.031)
    out += faces.mouth_parts(who, looks) + faces.ears(who, skin) + [faces.neck(who, skin)]
    coat = f"coat_{who}"
    out += bodies.torso(who, broad=BROAD[who], coat=coat)
    out += bodies.limbs(who, coat=coat, trousers=f"trousers_{who}", boots=f"boots_{who}", broad=1.0)
    out += [bodies.hand(who, side, grip=side in HANDS[who], skin=skin) for side, _ in SIDES]
    out.append(bodies.collar(who, f"scarf_{who}", radius=0.062, thick=0.025))
    if who == "Oona":
        out += [*faces.bob(who, looks, hair, 7), bodies.buttons(who, "horn")]
    else:
        out += [*faces.cap(who, looks, hair, 9), faces.beard(who, looks, hair, 13)]
    return out


def drawables() -> list[Mesh]:
    out = [m for who in LOOKS for m in person(who)]
    return [*out, *bodies.lantern(), *place.everything()]


KEPT = (
    "chest_mesh",
    "skirt",
    "sleeve",
    "cuff",
    "thigh",
    "shin",
    "boot",
    "hand",
    "eye_",
    "lid_",
    "neck",
    "brow",
    "Lantern",
    "tower",
    "deck",
    "crate_Oona",
    "crate_Bram",
    "Boat_light",
)
"""Drawables of the exported scene: those whose name holds one of these."""


def standins() -> list[Mesh]:
    """What the exported scene shows: coarse heads with their mouth shapes, bodies, lantern, jetty, tower; one plain colour each but for the heads."""
    out = []
    for mesh in drawables():
        mesh.uv = None
        if "head_mesh" not in mesh.name and any(word in mesh.name for word in KEPT):
            out.append(mesh)
    return out + [faces.skull(who, looks, skin=SKIN[who], lips=LIPS[who], coarse=True) for who, looks in LOOKS.items()]
