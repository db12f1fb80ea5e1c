"""What this one character's mouth looks like at each opening and width: learnt from the few frames that a person marked.

Each marked mouth is bent to a grid of openings and widths; a frame is compared with all of them, and read off, finer than the grid, where it fits best.
What the model has never seen shows as a bad fit and widens the error.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
import numpy.typing as npt

from shotcrit.readings.picture.mouth.warp import Inside, MarkedMouth, bent, inside_of, opened, seam_of

Floats = npt.NDArray[np.float64]
Patch = npt.NDArray[np.float32]

SIZE = (96, 80)
"""Patch px, as in the first probe (checks.md)."""
ACROSS = 1.9
"""Width of the patch in mouth widths at rest."""
GAP_STEP, WIDTH_STEP = 0.06, 0.06
"""Of the width at rest: the grid of bent mouths; read between its lines."""
PART = 0.3
"""How far a shut mouth's lips are parted over plain dark; wider open, teeth and tongue show (guess)."""
FURTHER = 0.2
"""How much wider open than marked a mouth is bent; beyond that the picture is made up (guess)."""
WIDTHS = (0.64, 1.36)
"""Widths that are tried, of the width at rest (guess)."""
MEETS = 0.025
"""Opening, mouth widths at rest, under which lips are taken to meet: 1.5 px on a mouth of 60 (set on two kinds of generated heads)."""
MOST_ERROR = 0.3
"""Mouth widths; as much as not knowing at all."""
LEAST_ERROR = 0.012
"""Mouth widths at rest (guess)."""
ROUNDS = 3
"""Of reading and weighing pixels in turn."""
SOFT = 1.0
"""px, Gaussian, before comparing."""
RIM, LIP = 0.08, 0.15
"""Of the mouth's width: skin around the lips that is compared, and how thick lips are taken to be (guess)."""
KIN = 12.0
"""Neighbouring pixels that misfit alike: how many px of a patch count as one (calibrated on generated heads)."""
SHUT, OPEN, WIDE = 0.06, 0.3, 1.08
"""What a marked frame must reach to have taught 'shut' (opening at most), 'open' (opening at least), 'wide' (width at least, at rest 1)."""


Reading = tuple[Floats, Floats, Floats, npt.NDArray[np.intp]]
"""Of one sheet: answers [shape=(n, 2)], errors [shape=(n, 2)], misfit [shape=(n,)], index of the best look [shape=(n,)]."""


@dataclass(frozen=True)
class Sheet:
    """One marked mouth bent to a grid. gaps [shape=(g,)], widths [shape=(w,)] over the width at rest; looks [shape=(g, w, d)] tidied patches"""

    gaps: Floats
    widths: Floats
    looks: Floats


@dataclass(frozen=True)
class MouthModel:
    """window : where a patch is compared, 0..1 [shape=half of SIZE]; rest : width at rest, patch px
    answers : (opening, width) of the marked frames; taught : as in Mouth
    """

    sheets: tuple[Sheet, ...]
    window: Floats
    rest: float
    answers: tuple[tuple[float, float], ...]
    taught: tuple[str, ...]

    def read(self, patches: list[Patch]) -> tuple[Floats, Floats]:
        """(answers, errors) [shape=(n, 2)]: opening and width over the width at rest."""
        seen = np.stack([tidy(p, self.window) for p in patches])
        weight = np.ones(seen.shape[1])
        for _ in range(ROUNDS):
            found = [_read_sheet(sheet, seen, weight) for sheet in self.sheets]
            answers, errors, misfit = (np.stack([f[k] for f in found]) for k in range(3))
            weight = self._say(seen, found, misfit.argmin(0))
        trust = np.exp(-0.5 * (misfit - misfit.min(0)) / (0.05 * misfit.min(0) + 1e-9))
        trust /= trust.sum(0)
        mean = (trust[..., None] * answers).sum(0)
        spread = (trust[..., None] * ((answers - mean) ** 2 + errors**2)).sum(0)
        return mean, np.clip(np.sqrt(spread), LEAST_ERROR, MOST_ERROR)

    def _say(self, seen: Floats, found: list[Reading], which: npt.NDArray[np.intp]) -> Floats:
        """How much each pixel has to say [shape=(d,)], mean 1: little where even the best fit of most frames is off (skin, chin, what is behind)."""
        rest = np.stack([seen[n] - self.sheets[k].looks.reshape(-1, seen.shape[1])[found[k][3][n]] for n, k in enumerate(which)])
        variance = (1.4826 * np.median(np.abs(rest), axis=0)) ** 2 + 0.25 * np.minimum(rest**2, 9 * np.median(rest**2, axis=0)).mean(0)
        weight = 1 / (variance + np.quantile(variance, 0.7))
        return np.asarray(weight / weight.mean())


def tidy(patch: Patch, window: Floats) -> Floats:
    """A patch as a vector, half as fine, under `window`, with the light of its surroundings taken out: float64 [shape=(d,)]."""
    small = _half(cv2.GaussianBlur(patch, (0, 0), SOFT))
    around = small[(window > 0.05) & (window < 0.6)]
    level = max(float(np.median(around if len(around) else small)), 16.0)
    return np.asarray(((small - level) / level * window).ravel())


def _half(patch: Patch) -> Floats:
    return np.asarray(cv2.resize(patch, (SIZE[0] // 2, SIZE[1] // 2), interpolation=cv2.INTER_AREA), dtype=np.float64)


def window_of(mouths: list[MarkedMouth]) -> Floats:
    """Where marked mouths reach, and a rim of skin: 0..1 [shape=half of SIZE]. Further out, cheeks, chin and what is behind them only disturb."""
    widest = max(m.width for m in mouths)
    mask = np.zeros((SIZE[1], SIZE[0]), np.float32)
    for mouth in mouths:
        middle, axes = mouth.frame()
        upper, lower = mouth.lips()
        centre = middle + axes[1] * (upper + lower) / 2
        across, down = 0.5 * widest * 1.15 + RIM * widest, (lower - upper) / 2 + LIP * widest + RIM * widest
        angle = float(np.degrees(np.arctan2(axes[0][1], axes[0][0])))
        cv2.ellipse(mask, (tuple(map(float, centre)), (2 * across, 2 * down), angle), 1.0, -1)
    return _half(np.asarray(cv2.GaussianBlur(mask, (0, 0), 2.5), dtype=np.float32))


def _read_sheet(sheet: Sheet, seen: Floats, weight: Floats) -> Reading:
    """One bent mouth against all frames."""
    g, w, d = sheet.looks.shape
    flat = sheet.looks.reshape(g * w, d)
    misfit = (seen**2) @ weight
    misfit = misfit[:, None] + ((flat**2) @ weight)[None] - 2 * (seen * weight) @ flat.T
    cube = np.maximum(misfit, 0).reshape(-1, g, w) / d
    best = cube.reshape(len(seen), -1).argmin(1)
    rows, columns = np.divmod(best, w)
    least = cube.reshape(len(seen), -1).min(1)
    noise = least * KIN / d
    gap, gap_error = _between(sheet.gaps, np.moveaxis(cube, 1, 0)[:, np.arange(len(seen)), columns].T, rows, noise)
    width, width_error = _between(sheet.widths, cube[np.arange(len(seen)), rows], columns, noise)
    return np.column_stack([gap, width]), np.column_stack([gap_error, width_error]), least, best


def _between(lines: Floats, costs: Floats, best: npt.NDArray[np.intp], noise: Floats) -> tuple[Floats, Floats]:
    """The lowest point of each row of `costs` [shape=(n, k)] at `lines`, by a parabola through the best and its neighbours, and its error."""
    if len(lines) < 3:
        return lines[best], np.full(len(best), 0.1)
    middle = np.clip(best, 1, len(lines) - 2)
    n = np.arange(len(best))
    a, b, c = costs[n, middle - 1], costs[n, middle], costs[n, middle + 1]
    step = lines[1] - lines[0]
    bend = np.maximum(a - 2 * b + c, 1e-9)
    shift = np.clip(0.5 * (a - c) / bend, -1.2, 1.2)
    value = np.clip(lines[middle] + shift * step, max(lines[0], 0.0), lines[-1])
    # At an end of the grid, or on a flat floor, a parabola says nothing; how likely the other lines are does.
    likely = np.exp(-(costs - costs.min(1, keepdims=True)) / (2 * np.maximum(noise, 1e-12))[:, None])
    around = np.sqrt((likely * (lines - value[:, None]) ** 2).sum(1) / likely.sum(1) + step**2 / 12)
    return value, np.minimum(np.sqrt(2 * noise / bend) * step, around)


def learn(mouths: list[MarkedMouth]) -> MouthModel:
    """A model from marked mouths, one at least."""
    rest = rest_width(mouths)
    seam = seam_of(mouths)
    window = window_of(mouths)
    inside = inside_of(mouths, seam)
    sheets = tuple(_sheet(m, rest, seam, window, inside) for m in mouths)
    answers = tuple((m.gap / rest, m.width / rest) for m in mouths)
    return MouthModel(sheets, window, rest, answers, covered(answers))


def _sheet(mouth: MarkedMouth, rest: float, seam: float, window: Floats, inside: Inside | None) -> Sheet:
    top = mouth.gap / rest * (1 + FURTHER) if mouth.open else PART if inside else 0.0
    gaps = np.linspace(0, top, max(3, int(np.ceil(top / GAP_STEP)) + 1)) if top else np.array([mouth.gap / rest])
    widths = np.arange(WIDTHS[0], WIDTHS[1] + 1e-6, WIDTH_STEP)

    def look(gap: float, width: float) -> Patch:
        if inside and not mouth.open:
            return opened(mouth, gap, width, seam, inside)
        return bent(mouth, gap, width, seam)

    return Sheet(gaps, widths, np.stack([np.stack([tidy(look(g * rest, w * rest), window) for w in widths]) for g in gaps]))


def rest_width(mouths: list[MarkedMouth]) -> float:
    """Corner to corner at rest, px: of the marked mouth that is least open."""
    return min(mouths, key=lambda m: m.gap / m.width).width


def covered(answers: tuple[tuple[float, float], ...]) -> tuple[str, ...]:
    """What (opening, width) of marked frames teach: some of 'shut', 'open', 'wide', 'rest'."""
    out = []
    if any(o <= SHUT for o, _ in answers):
        out.append("shut")
    if any(o >= OPEN for o, _ in answers):
        out.append("open")
    if any(w >= WIDE for _, w in answers):
        out.append("wide")
    if any(o <= SHUT and abs(w - 1) <= 0.1 for o, w in answers):
        out.append("rest")
    return tuple(out)
