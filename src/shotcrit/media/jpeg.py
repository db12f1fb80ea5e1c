"""Pictures as JPEG."""

from __future__ import annotations

import cv2
import numpy as np
import numpy.typing as npt

from shotcrit.errors import MediaError


def jpeg(picture: npt.NDArray[np.uint8], quality: int) -> bytes:
    """uint8 BGR [shape=(h, w, 3)] (Picture.bgr: the order that OpenCV encodes from) as baseline JPEG, 4:2:0."""
    whole, data = cv2.imencode(".jpg", picture, [cv2.IMWRITE_JPEG_QUALITY, quality])
    if not whole:
        raise MediaError(f"a picture of {picture.shape[1]} x {picture.shape[0]} px cannot be stored as JPEG; export a smaller review copy")
    return bytes(data.tobytes())
