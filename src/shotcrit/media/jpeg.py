"""Pictures as JPEG."""

from __future__ import annotations

import cv2
import numpy as np
import numpy.typing as npt

from shotcrit.errors import MediaError


def jpeg(picture: npt.NDArray[np.uint8], quality: int) -> bytes:
    """uint8 RGB [shape=(h, w, 3)] as baseline JPEG, 4:2:0."""
    whole, data = cv2.imencode(".jpg", cv2.cvtColor(picture, cv2.COLOR_RGB2BGR), [cv2.IMWRITE_JPEG_QUALITY, quality])
    if not whole:
        raise MediaError(f"a picture of {picture.shape[1]} x {picture.shape[0]} px cannot be stored as JPEG; export a smaller review copy")
    return bytes(data.tobytes())
