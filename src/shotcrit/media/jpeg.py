"""Pictures as JPEG, and files that are whole or not there."""

from __future__ import annotations

import errno
import os
import tempfile
from pathlib import Path

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


def write_whole(path: Path, data: bytes) -> None:
    """Write a file so that it is there with all of `data` or not at all. Raises MediaError when the disk is full or closed to us."""
    temporary = None
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        handle, temporary = tempfile.mkstemp(prefix=".part-", dir=path.parent)
        with os.fdopen(handle, "wb") as file:
            file.write(data)
        os.replace(temporary, path)
    except OSError as problem:
        if temporary is not None:
            Path(temporary).unlink(missing_ok=True)
        raise cannot_write(path, problem) from problem
    except BaseException:
        if temporary is not None:
            Path(temporary).unlink(missing_ok=True)
        raise


def cannot_write(path: Path, problem: OSError) -> MediaError:
    """One sentence on why a file could not be kept."""
    if problem.errno in (errno.ENOSPC, errno.EDQUOT):
        return MediaError(f"{path.parent} is on a full disk, so {path.name} was not written; make room and start again")
    return MediaError(f"{path} cannot be written ({problem.strerror}); check the folder's permissions")
