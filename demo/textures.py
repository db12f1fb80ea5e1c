"""Painted surfaces, all by arithmetic and all seeded. Each returns sRGB uint8 [height, width, 3]."""

from __future__ import annotations

from pathlib import Path

import cv2
import numpy as np


def noise(shape: tuple[int, int], seed: int, *, cells: int, octaves: int = 4) -> np.ndarray:
    """Cloudy noise in 0..1 that tiles."""
    rng = np.random.default_rng(seed)
    out, total = np.zeros(shape), 0.0
    for k in range(octaves):
        rows, cols = max(2, cells * 2**k * shape[0] // shape[1]), cells * 2**k
        small = rng.random((rows, cols)).astype(np.float32)
        small = np.pad(small, 2, mode="wrap")
        scale_y, scale_x = shape[0] / rows, shape[1] / cols
        big = cv2.resize(small, (round((cols + 4) * scale_x), round((rows + 4) * scale_y)), interpolation=cv2.INTER_CUBIC)
        y, x = round(2 * scale_y), round(2 * scale_x)
        out += big[y : y + shape[0], x : x + shape[1]] * 0.5**k
        total += 0.5**k
    out = out / total
    return np.clip((out - 0.5) * 1.6 + 0.5, 0, 1)


def _rgb(grey: np.ndarray, dark, light) -> np.ndarray:
    return np.asarray(dark) + grey[..., None] * (np.asarray(light, float) - np.asarray(dark))


def _out(image: np.ndarray) -> np.ndarray:
    return np.clip(image * 255 + 0.5, 0, 255).astype(np.uint8)


def skin(seed: int, *, freckles: int, stubble: float) -> np.ndarray:
    """Multiplies the face's own colour: mottling, pores, freckles about nose and cheeks. Wraps the head as sculpt lays its uv."""
    h, w = 1024, 2048
    base = 1 - 0.10 * noise((h, w), seed, cells=40) - 0.07 * noise((h, w), seed + 1, cells=220, octaves=2)
    out = np.repeat(base[..., None], 3, axis=2) * np.array([1.03, 1.0, 0.985])
    rng = np.random.default_rng(seed + 2)
    layer = np.zeros((h, w), np.float32)
    for _ in range(freckles):
        x = w * (0.5 + rng.choice([-1, 1]) * abs(rng.normal(0.035, 0.050)))
        y = h * (1 - rng.normal(0.415, 0.052))
        size, deep = rng.uniform(2.4, 5.2), rng.uniform(0.25, 0.75)
        cv2.ellipse(layer, (round(x), round(y)), (round(size * 0.85), round(size)), rng.uniform(0, 180), 0, 360, deep, -1, cv2.LINE_AA)
    for _ in range(260):
        x, y = rng.uniform(0.2, 0.8) * w, rng.uniform(0.2, 0.95) * h
        cv2.circle(layer, (round(x), round(y)), int(rng.integers(1, 4)), float(rng.uniform(0.10, 0.30)), -1, cv2.LINE_AA)
    layer = cv2.GaussianBlur(layer, (0, 0), 1.1)
    out = out * (1 - layer[..., None] * np.array([0.35, 0.55, 0.62]))
    if stubble:
        rows = 1 - (np.arange(h) + 0.5) / h
        where = np.clip((0.33 - rows) / 0.10, 0, 1)[:, None]
        dots = noise((h, w), seed + 5, cells=400, octaves=1) > 0.62
        out = out * (1 - stubble * where[..., None] * (0.35 + 0.65 * dots[..., None]) * np.array([0.62, 0.60, 0.52]))
    return _out(out)


def eye(seed: int, tone, *, iris: float = 0.47, pupil: float = 0.215) -> np.ndarray:
    """An eyeball from the front: white, iris with rays and a dark rim, pupil. Radii are fractions of the ball's."""
    n = 768
    y, x = np.mgrid[0:n, 0:n] / (n - 1) * 2 - 1
    r, a = np.hypot(x, y), np.arctan2(y, x)
    white = _rgb(np.clip(1 - r**4 * 0.35, 0, 1), (0.72, 0.55, 0.50), (0.965, 0.955, 0.935))
    rng = np.random.default_rng(seed)
    rays = sum(np.sin(a * k + rng.uniform(0, 6)) * rng.uniform(0.4, 1) for k in (17, 29, 41, 67)) / 4
    part = np.clip((r - pupil) / (iris - pupil), 0, 1)
    bright = 0.72 + 0.30 * rays + 0.45 * np.exp(-(((part - 0.30) / 0.22) ** 2)) - 0.30 * (y < -0.05) * 0.4 - 0.25 * np.clip(-y, 0, 1)
    colour = np.asarray(tone) * bright[..., None] * (1 - 0.80 * np.clip((part - 0.74) / 0.20, 0, 1))[..., None]
    soft = 2.2 / n * 2
    out = white + (colour - white) * np.clip((iris - r) / soft / 2 + 0.5, 0, 1)[..., None]
    return _out(out + (0.02 - out) * np.clip((pupil - r) / soft / 2 + 0.5, 0, 1)[..., None])


def knit(seed: int) -> np.ndarray:
    """Stocking stitch, grey, to be tinted."""
    h = w = 512
    y, x = np.mgrid[0:h, 0:w]
    column, row = (x % 32) / 32 - 0.5, y / 28
    lean = row + 1.1 * np.abs(column)
    stitch = np.abs(np.sin(lean * np.pi)) ** 0.6 * (1 - (np.abs(np.abs(column) - 0.25) / 0.27) ** 3)
    fluff = noise((h, w), seed, cells=64, octaves=3)
    return _out(_rgb(np.clip(0.25 + 0.60 * stitch + 0.30 * (fluff - 0.5), 0, 1), (0.40,) * 3, (1.0,) * 3))


def cloth(seed: int, *, stripes: bool = False) -> np.ndarray:
    """Waxed cloth or flannel, near white, to be tinted."""
    h = w = 512
    y, x = np.mgrid[0:h, 0:w]
    weave = 0.5 + 0.25 * np.sin(x * np.pi / 3) + 0.25 * np.sin(y * np.pi / 3)
    grey = 0.74 + 0.10 * weave - 0.22 * noise((h, w), seed, cells=6) + 0.08 * noise((h, w), seed + 1, cells=60)
    out = np.repeat(grey[..., None], 3, axis=2) * 1.12
    if stripes:
        band = ((x // 64) % 2 == 0) ^ ((y // 64) % 4 == 0)
        out = np.where(band[..., None], out, out * np.array([0.62, 0.40, 0.42]))
    return _out(out)


def planks(seed: int, *, boards: int, dark, light) -> np.ndarray:
    """Weathered boards along x."""
    h = w = 1024
    rng = np.random.default_rng(seed)
    board = (np.arange(h) * boards // h)[:, None]
    shift = rng.integers(0, w, boards)
    grain = noise((h, w), seed, cells=6, octaves=3)
    fine = cv2.resize(noise((h, 64), seed + 1, cells=24, octaves=2).astype(np.float32), (w, h), interpolation=cv2.INTER_CUBIC)
    mixed = np.stack([np.roll(grain[k] * 0.45 + fine[k] * 0.55, shift[board[k, 0]]) for k in range(h)])
    tone = rng.uniform(0.80, 1.08, boards)[board]
    within = (np.arange(h) * boards / h) % 1
    gap = np.clip(np.minimum(within, 1 - within) / 0.035, 0, 1)[:, None]
    out = _rgb(np.clip(mixed, 0, 1), dark, light) * tone[..., None] * (0.18 + 0.82 * gap)[..., None]
    for k in range(boards):
        for x in (int(shift[k]) % w, (int(shift[k]) + 22) % w):
            cv2.circle(out, (x, int((k + 0.5) * h / boards)), 5, (0.05, 0.045, 0.04), -1, cv2.LINE_AA)
    return _out(out)


def rock(seed: int) -> np.ndarray:
    grey = 0.6 * noise((512, 512), seed, cells=5) + 0.4 * noise((512, 512), seed + 1, cells=40)
    return _out(_rgb(grey, (0.16, 0.15, 0.20), (0.56, 0.52, 0.54)))


def stone(seed: int) -> np.ndarray:
    """Whitewashed courses with a broad red band."""
    h = w = 512
    y, x = np.mgrid[0:h, 0:w]
    row = y // 24
    joint = ((y % 24) < 2) | (((x + 20 * (row % 2)) % 40) < 2)
    out = _rgb(0.5 + 0.5 * noise((h, w), seed, cells=10), (0.62, 0.60, 0.60), (0.92, 0.89, 0.84))
    band = (y // 128) % 2 == 1
    out = np.where(band[..., None], out * np.array([0.72, 0.26, 0.22]), out)
    return _out(np.where(joint[..., None], out * 0.72, out))


def painted() -> dict[str, np.ndarray]:
    """Every texture by file name."""
    return {
        "skin_Oona": skin(11, freckles=130, stubble=0.0), "skin_Bram": skin(23, freckles=40, stubble=0.55),
        "eye_Oona": eye(5, (0.30, 0.58, 0.50)), "eye_Bram": eye(8, (0.42, 0.60, 0.82)),
        "knit": knit(31), "cloth": cloth(41), "scarf": cloth(43, stripes=True),
        "planks": planks(51, boards=6, dark=(0.16, 0.13, 0.13), light=(0.52, 0.43, 0.36)),
        "crate": planks(53, boards=4, dark=(0.20, 0.12, 0.08), light=(0.62, 0.43, 0.27)),
        "rock": rock(61), "stone": stone(71),
    }  # fmt: skip


def write(folder: Path) -> None:
    folder.mkdir(parents=True, exist_ok=True)
    for name, image in painted().items():
        cv2.imwrite(str(folder / f"{name}.png"), cv2.cvtColor(image, cv2.COLOR_RGB2BGR))
