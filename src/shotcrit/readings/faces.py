"""Faces that were found in the picture by themselves, and which character's each may be.

No one is recognised: a name comes from the lines of this film, from looks in it, or from a person.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

import numpy as np
import numpy.typing as npt

from shotcrit.clock import Span
from shotcrit.readings.acting import Mouth

Floats = npt.NDArray[np.float32]


Worth = Literal["shut", "open", "wide", "facing"]
"""What a frame is worth marking for."""


@dataclass(frozen=True)
class Unread:
    """Frames on which a face stands but its mouth is not read. why : what may follow 'is': 'in profile', 'covered', 'small', 'not surely seen'"""

    span: Span
    why: str


@dataclass(frozen=True)
class FoundFace:
    """One face in one shot. All arrays run over `span`; nan on frames where it was not read.

    who : whose it is taken for; None where nothing tells it surely. sure : of that name, 0..1; said : by a person
    middle : float32 [shape=(len(span), 2)] picture; size : float32 [shape=(len(span),)] from forehead to chin, parts of the picture's width
    turned : float32 [shape=(len(span),)] degrees to screen right
    mouth : opening and width with their errors, over the mouth's width at rest
    points : by mark name, float32 [shape=(len(span), 2)] picture; drafts, until a person confirms them
    unread : where it is seen and not read; worth : frame indices worth confirming marks on: 'shut', 'open', 'wide', 'facing'
    looks : float32 [shape=(k, 3)] mean colours of its parts, 0..255
    colours : float32 [shape=(len(span), 2, 3)] R G B 0..255 of the darkest and the brightest part between the lips; nan where it is too small or shut; None
        where they were not read
    """

    id: int
    span: Span
    middle: Floats
    size: Floats
    turned: Floats
    mouth: Mouth
    points: Mapping[str, Floats]
    looks: Floats
    unread: tuple[Unread, ...] = ()
    worth: Mapping[Worth, int] = field(default_factory=dict)
    who: str | None = None
    sure: float = 0.0
    said: bool = False
    colours: Floats | None = None

    @property
    def read(self) -> npt.NDArray[np.bool_]:
        """bool [shape=(len(span),)]: frames whose mouth is known."""
        return np.isfinite(self.mouth.opening)
