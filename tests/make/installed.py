"""Programs and files of other people that some tests need. Where they are missing a test is skipped; on CI, which has them, that is a failure."""

from __future__ import annotations

import os
import shutil
from typing import NoReturn

import pytest

from shotcrit.readings.picture.faces.nets import weights_there

CHROMIUM = ("chromium", "chromium-browser", "google-chrome")


def needed(*names: str) -> str:
    """The path of the first of these programs that is here."""
    found = next((path for name in names if (path := shutil.which(name))), None)
    if found is None:
        _lacking(f"{names[0]} is not installed", "see .ci/run")
    return found


def weights_needed() -> None:
    """The weights that find faces are here."""
    if not weights_there():
        _lacking("the weights that find faces were not taken here", "see build_steps/lent.py")


def _lacking(says: str, where: str) -> NoReturn:
    if os.environ.get("CI") == "true":
        pytest.fail(f"{says}, and CI has to have it; {where}")
    pytest.skip(says)
