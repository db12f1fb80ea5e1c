"""How well each state of the acoustic model speaks for each moment of a sound."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from shotcrit.readings.sound.acoustic.model import AcousticModel

Floats = npt.NDArray[np.float32]
Ints = npt.NDArray[np.int64]

_LEAST = np.float32(1e-12)
"""Of a mixture, so that its logarithm is a number."""
BLOCK = 64
"""Rows at once: their Gaussians stay in the processor's cache, and the products stay under the size from which OpenBLAS calls in other threads
(m * n * k over 262,144), which cost more than they bring."""


def phone_scores(model: AcousticModel, rows: Floats, phone: int, senones: Ints) -> Floats:
    """float32 [shape=(n, k)] log likelihood of rows for k senones of one phone.

    rows : float32 [shape=(n, 3, 13)] as features.observed gives them
    log p = sum over streams of log sum over Gaussians of weight * N(row), all 128 of them
    """
    total = np.empty((len(rows), len(senones)), np.float32)
    weights = np.ascontiguousarray(model.weights[:, :, senones])
    for at in range(0, len(rows), BLOCK):
        total[at : at + BLOCK] = _block(rows[at : at + BLOCK], model.tables[phone], weights)
    return total


def _block(rows: Floats, tables: Floats, weights: Floats) -> Floats:
    found = np.zeros((len(rows), weights.shape[2]), np.float32)
    for stream in range(rows.shape[1]):
        x = rows[:, stream]
        log = np.concatenate([x * x, x, np.ones((len(x), 1), np.float32)], axis=1) @ tables[stream]
        top = log.max(axis=1, keepdims=True)
        found += np.log(np.maximum(np.exp(log - top) @ weights[stream], _LEAST)) + top
    return found


def alone_scores(model: AcousticModel, rows: Floats) -> Floats:
    """float32 [shape=(n, n_phones, 3)] log likelihood of rows for every phone's states in no company."""
    return np.stack([phone_scores(model, rows, phone, model.alone[phone]) for phone in range(len(model.names))], axis=1)
