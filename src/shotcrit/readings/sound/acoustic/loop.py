"""What is heard with no lines to lean on: the best string of phones, any after any."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from shotcrit.readings.sound.acoustic.model import AcousticModel

Floats = npt.NDArray[np.float32]
Ints = npt.NDArray[np.int64]

NEW_PHONE = -2.0
"""Log probability of any phone after any other, on top of the model's own (guess: 40 phones would be -3.7; the lines' graph pays nothing)."""


@dataclass(frozen=True)
class FreePath:
    """phone, state : int [shape=(n,)] where the best path is at each row; entered : bool [shape=(n,)] rows where a phone begins

    likelihood : float32 [shape=(n,)] of each row in the state that the path is in
    """

    phone: Ints
    state: Ints
    entered: npt.NDArray[np.bool_]
    likelihood: Floats


def free_path(model: AcousticModel, alone: Floats) -> FreePath:
    """alone : float32 [shape=(n, n_phones, 3)], n > 0, as scores.alone_scores gives them."""
    count, phones, states = alone.shape
    advanced = np.zeros((count, phones, states), np.bool_)
    source = np.zeros(count, np.int64)
    score = np.full((phones, states), -1e30, np.float32)
    score[:, 0] = alone[0, :, 0]
    onward = np.empty_like(score)
    for at in range(1, count):
        leaving = score + model.leave
        source[at] = leaving[:, -1].argmax()
        onward[:, 0] = leaving[source[at], -1] + NEW_PHONE
        onward[:, 1:] = leaving[:, :-1]
        staying = score + model.stay
        np.greater(onward, staying, out=advanced[at])
        score = np.maximum(onward, staying) + alone[at]
    return _walk_back(alone, advanced, source, int(score.argmax()))


def _walk_back(alone: Floats, advanced: npt.NDArray[np.bool_], source: Ints, last: int) -> FreePath:
    count = len(alone)
    phone, state = np.zeros(count, np.int64), np.zeros(count, np.int64)
    entered = np.zeros(count, np.bool_)
    p, s = divmod(last, alone.shape[2])
    for at in range(count - 1, -1, -1):
        phone[at], state[at] = p, s
        if advanced[at, p, s]:
            entered[at] = s == 0
            p, s = (p, s - 1) if s else (int(source[at]), alone.shape[2] - 1)
    entered[0] = True
    return FreePath(phone, state, entered, alone[np.arange(count), phone, state])
