"""What a mark's place is worth where its surroundings turn away.

A patch is followed as if it were flat, and its fit says how surely. A thing that turns out of the picture's plane shows its patch squeezed, and a mark
that lies off the patch's plane, or on an outline, then moves against it: no fit can tell by how much, but the squeeze says how far it may be.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

ARM = 24.0
"""px at working size a unit of squeeze (calibrated on rendered figures: the mark is then within twice its error on nine frames of ten)."""


def turned_away(linear: npt.NDArray[np.float32] | npt.NDArray[np.float64]) -> float:
    """Standard error, px at working size, from a patch's linear map [shape=(2, 2)] since it was placed: ARM times the logarithm of its two scales' ratio.

    With scales a >= b, a b = |det| and a^2 + b^2 = the sum of squares, so that cosh(log(a / b)) = (a^2 + b^2) / (2 a b).
    """
    exact = linear.astype(np.float64)
    area = max(abs(float(np.linalg.det(exact))), 1e-9)
    return ARM * float(np.arccosh(max(1.0, float((exact**2).sum()) / (2 * area))))
