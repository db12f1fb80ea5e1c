"""What was read frame by frame, as arrays for scripts: NumPy's .npz, a zip of .npy files (NEP 1).

Each series under its name, [shape=(n_frames, ...)]; beside them `frame` (as shown), `start_s` (n_frames + 1 edges, seconds from the first picture) and
`about`, a JSON text with first frame, exact rate, time code and units.
"""

from __future__ import annotations

import io
import json
from typing import Any

import numpy as np

from shotcrit.clock import rate_text
from shotcrit.deliver.crit_input import CritForDelivery
from shotcrit.deliver.exchange.format import Format, Made, counting, lost
from shotcrit.errors import InputError
from shotcrit.readings.named import named_series


def about_json(crit: CritForDelivery) -> str:
    """How frames are counted, and the unit of each series."""
    count = counting(crit)
    units = {file_safe(name): unit for name, unit, _ in named_series(crit.measured.readings)}
    told = {
        "schema": "shotcrit.readings/1", "shot": crit.shot, "take": crit.take_label, "first_frame": count.first_frame, "rate": rate_text(count.rate),
        "timecode": count.timecode(0), "drop_frame": count.drop, "variable_rate": count.variable, "units": units,
    }  # fmt: skip
    return json.dumps(told, ensure_ascii=False)


def file_safe(name: str) -> str:
    """A name that is one file's in a zip, whatever a character is called."""
    return name.replace("/", "_").replace("\\", "_").replace("\0", "_")


def readings_npz(crit: CritForDelivery) -> Made:
    """Raises InputError where nothing was read."""
    readings, count = crit.measured.readings, counting(crit)
    series = {file_safe(name): values for name, _, values in named_series(readings)}
    if not series:
        raise InputError(f"nothing was read of {crit.shot} frame by frame; measure it, or leave npz out")
    frames = np.arange(len(count.clock)) + count.first_frame
    edges = np.array([float(edge) for edge in count.clock.edges])
    out = io.BytesIO()
    arrays: dict[str, Any] = {**series, "frame": frames, "start_s": edges, "about": np.array(about_json(crit))}
    np.savez_compressed(out, **arrays)
    return Made({"readings.npz": out.getvalue()}, lost(crit, "A file of arrays", overall=True))


FORMAT = Format(
    "npz",
    "readings as arrays",
    "Every series that was read, frame by frame, as NumPy arrays for scripts.",
    "Frames as numbers, their edges in seconds as doubles, first frame, exact rate, time code and units as JSON in `about`. No notes, no drawings.",
    readings_npz,
)
