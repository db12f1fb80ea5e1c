"""For every kind of test: generated examples are the same in each run, no example has to be quick, and reports of errors stay out of the user's folder."""

from __future__ import annotations

import os
import tempfile

import pytest
from hypothesis import settings

from shotcrit.unforeseen import FOLDER_SETTING
from tests.make.installed import weights_needed

settings.register_profile("shotcrit", deadline=None, derandomize=True)
settings.load_profile("shotcrit")
os.environ.setdefault(FOLDER_SETTING, tempfile.mkdtemp(prefix="shotcrit-reports-"))


@pytest.fixture(scope="session")
def weights() -> None:
    """For tests that find faces; of a session, so that it comes before all that is made with them."""
    weights_needed()
