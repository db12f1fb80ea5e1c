"""Writes the room's OpenAPI document: `python -m shotcrit.room.openapi > web/openapi.json`."""

from __future__ import annotations

import json
import sys
from typing import Any

from shotcrit.room.app import bare_app


def document() -> dict[str, Any]:
    """The OpenAPI document of all routes, the same on every run."""
    return bare_app(None).openapi()


def text() -> str:
    """The document as it is kept in web/openapi.json."""
    return json.dumps(document(), indent=1, sort_keys=True, ensure_ascii=False) + "\n"


if __name__ == "__main__":
    sys.stdout.write(text())
