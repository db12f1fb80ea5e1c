"""Programs of other people that some tests need. Where they are missing a test is skipped; on CI, which installs them, that is a failure."""

from __future__ import annotations

import os
import shutil

import pytest

CHROMIUM = ("chromium", "chromium-browser", "google-chrome")


def needed(*names: str) -> str:
    """The path of the first of these programs that is here."""
    found = next((path for name in names if (path := shutil.which(name))), None)
    if found is not None:
        return found
    says = f"{names[0]} is not installed"
    if os.environ.get("CI") == "true":
        pytest.fail(f"{says}, and CI has to have it; see .ci/run")
    pytest.skip(says)
