"""For every kind of test: generated examples are the same in each run, and no example has to be quick."""

from __future__ import annotations

from hypothesis import settings

settings.register_profile("shotcrit", deadline=None, derandomize=True)
settings.load_profile("shotcrit")
