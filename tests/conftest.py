"""For every kind of test: generated examples are the same in each run, no example has to be quick, and reports of errors stay out of the user's folder."""

from __future__ import annotations

import os
import tempfile

from hypothesis import settings

from shotcrit.unforeseen import FOLDER_SETTING

settings.register_profile("shotcrit", deadline=None, derandomize=True)
settings.load_profile("shotcrit")
os.environ.setdefault(FOLDER_SETTING, tempfile.mkdtemp(prefix="shotcrit-reports-"))
