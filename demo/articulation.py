"""From phones to a mouth: what each phone asks of lips, jaw and tongue, blended as speech blends.

Described by articulation (place and manner as in any phonetics primer); the sizes are the animator's taste, not measurements.
gap : lips apart, in the mouth's own widths at rest; jaw 0..1; wide, round, bite, press 0..1; tongue 0..1 = tip raised
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from scipy.interpolate import PchipInterpolator
from scipy.ndimage import gaussian_filter1d

from voices import Phone

FPS = 24
PARTS = ("gap", "jaw", "wide", "round", "bite", "press", "tongue")
CLOSURES = frozenset("mbp")
REST = (0.0, 0.02, 0.0, 0.0, 0.0, 0.0, 0.0)
TARGETS: dict[str, tuple[tuple[float, ...], ...]] = {
    # open and half-open vowels; two targets are a glide from the first to the second
    "aa": ((0.44, 0.90, 0.05, 0.0, 0, 0, 0),), "ae": ((0.40, 0.75, 0.40, 0.0, 0, 0, 0),), "ah": ((0.32, 0.55, 0.10, 0.0, 0, 0, 0),),
    "ao": ((0.36, 0.65, 0.0, 0.50, 0, 0, 0),), "eh": ((0.30, 0.50, 0.30, 0.0, 0, 0, 0),), "ax": ((0.19, 0.28, 0.05, 0.0, 0, 0, 0),),
    "aw": ((0.42, 0.80, 0.20, 0.0, 0, 0, 0), (0.16, 0.25, 0.0, 0.80, 0, 0, 0)), "ay": ((0.42, 0.80, 0.10, 0.0, 0, 0, 0), (0.20, 0.25, 0.45, 0.0, 0, 0, 0)),
    "ey": ((0.30, 0.45, 0.35, 0.0, 0, 0, 0), (0.18, 0.22, 0.50, 0.0, 0, 0, 0)), "ow": ((0.32, 0.50, 0.0, 0.60, 0, 0, 0), (0.13, 0.20, 0.0, 0.95, 0, 0, 0)),
    "oy": ((0.32, 0.50, 0.0, 0.60, 0, 0, 0), (0.20, 0.25, 0.40, 0.0, 0, 0, 0)),
    # narrow vowels
    "iy": ((0.17, 0.18, 0.60, 0.0, 0, 0, 0),), "ih": ((0.20, 0.28, 0.30, 0.0, 0, 0, 0),), "uw": ((0.11, 0.15, 0.0, 1.0, 0, 0, 0),),
    "uh": ((0.17, 0.25, 0.0, 0.60, 0, 0, 0),), "er": ((0.17, 0.24, 0.0, 0.40, 0, 0, 0),),
    # lips together; lower lip to the upper teeth; rounded glide
    "m": ((0.0, 0.08, 0.0, 0.0, 0, 0.75, 0),), "b": ((0.0, 0.10, 0.0, 0.0, 0, 0.85, 0),), "p": ((0.0, 0.08, 0.0, 0.0, 0, 0.95, 0),),
    "f": ((0.10, 0.12, 0.10, 0.0, 1.0, 0, 0),), "v": ((0.10, 0.14, 0.08, 0.0, 0.9, 0, 0),), "w": ((0.08, 0.12, 0.0, 1.0, 0, 0, 0),),
    # the tongue's work: lips follow their neighbours
    "t": ((0.15, 0.14, 0.12, 0.0, 0, 0, 0.8),), "d": ((0.15, 0.15, 0.10, 0.0, 0, 0, 0.8),), "n": ((0.16, 0.17, 0.08, 0.0, 0, 0, 0.9),),
    "l": ((0.21, 0.30, 0.06, 0.0, 0, 0, 1.0),), "th": ((0.15, 0.20, 0.05, 0.0, 0, 0, 1.0),), "dh": ((0.15, 0.20, 0.05, 0.0, 0, 0, 1.0),),
    "s": ((0.11, 0.04, 0.28, 0.0, 0, 0, 0.4),), "z": ((0.12, 0.05, 0.26, 0.0, 0, 0, 0.4),), "sh": ((0.14, 0.08, 0.0, 0.65, 0, 0, 0.3),),
    "ch": ((0.14, 0.08, 0.0, 0.6, 0, 0, 0.6),), "jh": ((0.14, 0.08, 0.0, 0.6, 0, 0, 0.6),), "zh": ((0.14, 0.08, 0.0, 0.65, 0, 0, 0.3),),
    "r": ((0.15, 0.20, 0.0, 0.45, 0, 0, 0.3),), "y": ((0.14, 0.14, 0.45, 0.0, 0, 0, 0),), "k": ((0.18, 0.24, 0.08, 0.0, 0, 0, 0),),
    "g": ((0.18, 0.24, 0.08, 0.0, 0, 0, 0),), "ng": ((0.18, 0.24, 0.08, 0.0, 0, 0, 0),), "hh": ((0.20, 0.30, 0.08, 0.0, 0, 0, 0),),
    "pau": (REST,),
}  # fmt: skip
SOFTEN_FRAMES = 0.55
"""Standard deviation of the blend; lips and jaw have mass."""
CLOSE_FRAMES = 1.4
"""How long lips take to meet and to part again."""


def mouth(phones: Sequence[Phone], frames: np.ndarray, *, unclosed: Sequence[float] = ()) -> dict[str, np.ndarray]:
    """Weights over `frames` (picture frames, fractions allowed; frame f is at the middle of its time).

    phones : in the shot's seconds, silences included as 'pau', rest before and after
    unclosed : start times (s) of closures that are left out, a planted fault
    """
    fine = np.arange(frames.min() - 12, frames.max() + 12, 0.125)
    seconds = (fine + 0.5) / FPS
    times, values = _keys(phones, unclosed)
    out = {}
    for k, part in enumerate(PARTS):
        line = PchipInterpolator(times, values[:, k])(np.clip(seconds, times[0], times[-1]))
        soft = gaussian_filter1d(line, SOFTEN_FRAMES / 0.125)
        out[part] = np.interp(frames, fine, soft)
    meet = _meeting(phones, frames, unclosed)
    out["gap"] = np.maximum(out["gap"], 0) * (1 - meet)
    bite = np.clip(out["bite"], 0, 1)
    out["gap"] = np.where(bite > 0.5, np.minimum(out["gap"], 0.13), out["gap"])
    return out


def _keys(phones: Sequence[Phone], unclosed: Sequence[float]) -> tuple[np.ndarray, np.ndarray]:
    rows: list[tuple[float, tuple[float, ...]]] = []
    lead = 0.16
    rows += [(phones[0].start_s - 3 * lead, REST), (phones[0].start_s - lead, REST)]
    for k, phone in enumerate(phones):
        span = phone.end_s - phone.start_s
        targets = TARGETS[phone.name]
        if phone.name in CLOSURES and any(abs(phone.start_s - u) < 1e-3 for u in unclosed):
            targets = ((0.17, 0.22, 0.05, 0.0, 0, 0, 0),)
        if phone.name == "hh" and k + 1 < len(phones):
            targets = (TARGETS[phones[k + 1].name][0],)
        for j, target in enumerate(targets):
            rows.append((phone.start_s + span * (j + 0.5) / len(targets), target))
    rows += [(phones[-1].end_s + lead, REST), (phones[-1].end_s + 3 * lead, REST)]
    return np.array([r[0] for r in rows]), np.array([r[1] for r in rows])


def _meeting(phones: Sequence[Phone], frames: np.ndarray, unclosed: Sequence[float]) -> np.ndarray:
    """1 where lips are held together. Two frames at least, or as long as the phone."""
    out = np.zeros(len(frames))
    for phone in phones:
        if phone.name not in CLOSURES or any(abs(phone.start_s - u) < 1e-3 for u in unclosed):
            continue
        middle = (phone.start_s + phone.end_s) / 2 * FPS - 0.5
        half = max((phone.end_s - phone.start_s) * FPS / 2, 1.0)
        away = np.maximum(np.abs(frames - middle) - half, 0) / CLOSE_FRAMES
        t = np.clip(1 - away, 0, 1)
        out = np.maximum(out, t * t * (3 - 2 * t))
    return out
