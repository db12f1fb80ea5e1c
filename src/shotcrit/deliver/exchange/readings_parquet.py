"""What was read frame by frame, as one table: Apache Parquet, a row a frame. Needs pyarrow, which the extra `parquet` brings."""

from __future__ import annotations

import io
from typing import Any

import numpy as np

from shotcrit.deliver.crit_input import CritForDelivery
from shotcrit.deliver.exchange.format import Format, Made, counting, lost
from shotcrit.deliver.exchange.readings_npz import about_json
from shotcrit.errors import InputError
from shotcrit.readings.frame_times import frame_starts
from shotcrit.readings.named import named_series


def columns(crit: CritForDelivery) -> dict[str, Any]:
    """Columns by name: frame, timecode, start_s, and each series; of more values a frame one column each, 'nose.0', 'nose.1'."""
    count = counting(crit)
    frames = len(count.clock)
    found: dict[str, Any] = {
        "frame": np.arange(frames) + count.first_frame,
        "timecode": [count.timecode(index) for index in range(frames)],
        "start_s": frame_starts(count.clock),
    }
    for name, _, values in named_series(crit.measured.readings):
        flat = values.reshape(frames, -1)
        found |= {name: flat[:, 0]} if flat.shape[1] == 1 else {f"{name}.{at}": flat[:, at] for at in range(flat.shape[1])}
    return found


def readings_parquet(crit: CritForDelivery) -> Made:
    """Raises InputError where pyarrow is not installed."""
    try:
        import pyarrow as arrow  # noqa: PLC0415  # 170 MB that few need
        from pyarrow import parquet  # noqa: PLC0415
    except ImportError as problem:
        raise InputError(
            "Parquet needs pyarrow, which is not installed here; run pip install 'shotcrit[parquet]', or send npz"
        ) from problem
    table = arrow.table(columns(crit)).replace_schema_metadata({"shotcrit": about_json(crit)})
    out = io.BytesIO()
    parquet.write_table(table, out)
    return Made({"readings.parquet": out.getvalue()}, lost(crit, "A table of readings", overall=True))


FORMAT = Format(
    "parquet",
    "readings as a table",
    "Every series that was read, a row a frame, as Parquet for data frames; needs `pip install 'shotcrit[parquet]'`.",
    "Frame, time code and seconds in columns; first frame, exact rate and units as JSON in the schema's metadata. No notes, no drawings.",
    readings_parquet,
)
