"""Following beside libraries that know nothing of ours: phase correlation (scikit-image) and brute-force template matching (OpenCV).

Phase correlation: Guizar-Sicairos, Thurman & Fienup (2008), Optics Letters 33:156-158, as skimage.registration.phase_cross_correlation has it.
"""

from __future__ import annotations

import cv2
import numpy as np
from skimage.registration import phase_cross_correlation
from tests.make.moving import cloth, cover, noise_texture, path

from shotcrit.readings.cast import Cast, Placed, Prop
from shotcrit.readings.picture.marks.flow import Pair, flow, view_of
from shotcrit.readings.picture.marks.follow import follow_marks

SIZE = (480, 270)
POINT = np.array([[10.0, -5.0]])


def followed(frames: list[np.ndarray], spot: np.ndarray) -> np.ndarray:
    x, y = (spot + 0.5) / SIZE
    cast = Cast(props=(Prop(name="kite", marks={"handle": (Placed(frame=1, x=float(x), y=float(y)),)}),))
    (track,) = follow_marks(enumerate(frames), cast, (), SIZE)
    return track.xy * SIZE - 0.5


def drift_only(count: int) -> np.ndarray:
    return path(count, turn=0, grow=0, swing=25, seed=5)


def fine(frame: np.ndarray) -> np.ndarray:
    grey = frame.astype(np.float32)
    return cv2.GaussianBlur(grey, (0, 0), 1) - cv2.GaussianBlur(grey, (0, 0), 5)


def moved(before: np.ndarray, after: np.ndarray, spots: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    there, miss, _ = flow([Pair(view_of(before), view_of(after), np.arange(len(spots)))], spots)
    return there, miss


def test_shifts_agree_with_phase_correlation() -> None:
    film = cloth(SIZE, drift_only(12), POINT, radius=90, shading=0, blur=0)
    ours = followed(film.frames, film.truth[0, 0])
    for index in (3, 7, 11):
        base = np.round(ours[index] - ours[0]).astype(int)
        x, y = np.round(film.truth[0, 0]).astype(int)
        # Without the coarse light: under a window it would pull every shift towards none.
        first, later = (fine(film.frames[i]) for i in (0, index))
        first = first[y - 32 : y + 32, x - 32 : x + 32]
        later = later[y + base[1] - 32 : y + base[1] + 32, x + base[0] - 32 : x + base[0] + 32]
        window = np.outer(np.hanning(64), np.hanning(64))
        shift, _, _ = phase_cross_correlation(first * window, later * window, upsample_factor=50, normalization=None)
        theirs = base - shift[::-1]
        assert np.abs(ours[index] - ours[0] - theirs).max() < 0.25


def test_places_agree_with_brute_force_matching() -> None:
    film = cloth(SIZE, drift_only(10), POINT, radius=90, shading=0.2, blur=0)
    ours = followed(film.frames, film.truth[0, 0])
    x, y = np.round(film.truth[0, 0]).astype(int)
    look = film.frames[0][y - 12 : y + 13, x - 12 : x + 13]
    for index in range(1, 10):
        scores = cv2.matchTemplate(film.frames[index], look, cv2.TM_CCOEFF_NORMED)
        _, _, _, best = cv2.minMaxLoc(scores)
        theirs = np.array(best) + 12 + film.truth[0, 0] - (x, y)
        assert np.abs(ours[index] - theirs).max() < 0.75, "brute force is good to half a pixel"


def test_forward_backward_error_of_the_handbook_case() -> None:
    """Kalal, Mikolajczyk & Matas 2010: a shift of (3.25, -1.5) px comes back within 0.1 px; a covered patch comes back over 1 px off, and is dropped."""
    texture = noise_texture(300, grain=2.5, seed=8).astype(np.float32)
    shifted = cv2.warpAffine(texture, np.float64([[1, 0, 3.25], [0, 1, -1.5]]), (300, 300), flags=cv2.INTER_CUBIC)
    before, after = (np.clip(v, 0, 255).astype(np.uint8) for v in (texture, shifted))
    spots = np.array([[150.0, 150.0], [100, 120]], np.float32)
    there, miss = moved(before, after, spots)
    assert np.abs(there - spots - (3.25, -1.5)).max() < 0.1
    assert miss.max() < 0.1
    hidden = after.copy()
    hidden[110:190, 110:190] = np.clip(noise_texture(80, grain=2, seed=99), 0, 255).astype(np.uint8)
    covered = np.stack(np.meshgrid(np.arange(130, 171, 10), np.arange(130, 171, 10)), axis=-1).reshape(-1, 2)
    _, miss = moved(before, hidden, covered.astype(np.float32))
    assert np.median(miss) > 1.0
    film = cover(cloth(SIZE, drift_only(16), POINT, radius=90), 2, 15, speed=40, width=200)
    assert np.isnan(followed(film.frames, film.truth[0, 0])[np.isnan(film.truth[0, :, 0])]).all()
