"""How unlike two colours look, and how much lighter one is: CIELAB under D65, CIEDE2000 and the contrast ratio. sRGB, 8-bit, last axis."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]

_TO_XYZ = np.array([[0.4124564, 0.3575761, 0.1804375], [0.2126729, 0.7151522, 0.0721750], [0.0193339, 0.1191920, 0.9503041]])
"""Linear sRGB to XYZ (IEC 61966-2-1)."""
_WHITE = np.array([0.95047, 1.0, 1.08883])
"""D65, 2 degrees."""
LUMINANCE = np.array([0.2126, 0.7152, 0.0722])
"""Of linear R, G, B in relative luminance (ITU-R BT.709-6)."""
_FAR = 25.0**7


def linear(rgb: npt.ArrayLike) -> Array:
    """Linear light 0..1 of 8-bit sRGB (IEC 61966-2-1). WCAG prints a knee of 0.03928 for its 0.04045; no 8-bit step lies between them."""
    value = np.asarray(rgb, np.float64) / 255
    return np.where(value <= 0.04045, value / 12.92, ((value + 0.055) / 1.055) ** 2.4)


def luminance(rgb: npt.ArrayLike) -> Array:
    """Relative luminance, 0..1 (W3C, WCAG 2.2). float64 [shape=(...)]"""
    return np.asarray(linear(rgb) @ LUMINANCE)


def contrast(one: npt.ArrayLike, other: npt.ArrayLike) -> Array:
    """(lighter + 0.05) / (darker + 0.05) of relative luminance, 1..21 (W3C, WCAG 2.2: contrast ratio). float64 [shape=(...)]"""
    a, b = luminance(one), luminance(other)
    return np.asarray((np.maximum(a, b) + 0.05) / (np.minimum(a, b) + 0.05))


def lab(rgb: npt.ArrayLike) -> Array:
    """CIELAB, float64 [shape=(..., 3)]."""
    return lab_of_light(linear(rgb))


def lab_of_light(light: npt.ArrayLike) -> Array:
    """CIELAB of linear R, G, B, 0..1. float64 [shape=(..., 3)]"""
    t = np.asarray(light, np.float64) @ _TO_XYZ.T / _WHITE
    f = np.where(t > 216 / 24389, np.cbrt(t), (24389 / 27 * t + 16) / 116)
    x, y, z = np.moveaxis(f, -1, 0)
    return np.stack([116 * y - 16, 500 * (x - y), 200 * (y - z)], axis=-1)


def unlike(one: npt.ArrayLike, other: npt.ArrayLike) -> Array:
    """CIEDE2000 of two colours in CIELAB, k = 1 (Sharma, Wu & Dalal 2005, Color Res. Appl. 30:21-30). float64 [shape=(...)]"""
    (l1, a1, b1), (l2, a2, b2) = (np.moveaxis(np.asarray(c, np.float64), -1, 0) for c in (one, other))
    grey = 1 + 0.5 * (1 - _share((np.hypot(a1, b1) + np.hypot(a2, b2)) / 2))
    c1, c2 = np.hypot(grey * a1, b1), np.hypot(grey * a2, b2)
    h1, h2 = (np.degrees(np.arctan2(b, grey * a)) % 360 for a, b in ((a1, b1), (a2, b2)))
    coloured = c1 * c2 > 0
    turn = np.where(coloured, (h2 - h1 + 180) % 360 - 180, 0.0)
    hue = 2 * np.sqrt(c1 * c2) * np.sin(np.radians(turn / 2))
    middle = np.where(coloured, _middle(h1, h2), h1 + h2)
    light, chroma = (l1 + l2) / 2, (c1 + c2) / 2
    weight_l = 1 + 0.015 * (light - 50) ** 2 / np.sqrt(20 + (light - 50) ** 2)
    weight_c, weight_h = 1 + 0.045 * chroma, 1 + 0.015 * chroma * _waves(middle)
    rotation = -2 * _share(chroma) * np.sin(np.radians(60 * np.exp(-(((middle - 275) / 25) ** 2))))
    dl, dc, dh = (l2 - l1) / weight_l, (c2 - c1) / weight_c, hue / weight_h
    return np.asarray(np.sqrt(dl**2 + dc**2 + dh**2 + rotation * dc * dh))


def _share(chroma: Array) -> Array:
    return np.asarray(np.sqrt(chroma**7 / (chroma**7 + _FAR)))


def _middle(one: Array, other: Array) -> Array:
    """Middle of two hues, degrees, on the shorter way round; of two that lie opposite, their plain mean."""
    both = one + other
    wide = np.abs(one - other) > 180
    return np.asarray(np.where(wide, np.where(both < 360, both + 360, both - 360), both) / 2)


def _waves(hue: Array) -> Array:
    parts = ((-0.17, 1, -30.0), (0.24, 2, 0.0), (0.32, 3, 6.0), (-0.20, 4, -63.0))
    return np.asarray(1 + sum(size * np.cos(np.radians(times * hue + shift)) for size, times, shift in parts))
