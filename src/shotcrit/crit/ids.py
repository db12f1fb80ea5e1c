"""Names for new records."""

from __future__ import annotations

import secrets

_BYTES = 8
"""64 random bits: two windows never choose the same."""


def new_id() -> str:
    """A fresh id, 16 lower-case hexadecimal digits."""
    return secrets.token_hex(_BYTES)
