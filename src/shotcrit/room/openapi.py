"""Writes the room's OpenAPI document: `python -m shotcrit.room.openapi > web/openapi.json`."""

from __future__ import annotations

import json
import sys
from typing import Any

from shotcrit.room.app import bare_app
from shotcrit.room.http import REFUSALS


def document() -> dict[str, Any]:
    """The OpenAPI document of all routes, the same on every run. Refusals stand once, under `components.responses`."""
    whole = bare_app(None).openapi()
    said = whole["components"]["responses"] = {}
    for route in (route for methods in whole["paths"].values() for route in methods.values()):
        for status, (name, _) in REFUSALS.items():
            if str(status) in route["responses"]:
                said[name] = route["responses"][str(status)]
                route["responses"][str(status)] = {"$ref": f"#/components/responses/{name}"}
    return whole


def text() -> str:
    """The document as it is kept in web/openapi.json."""
    return json.dumps(document(), indent=1, sort_keys=True, ensure_ascii=False) + "\n"


if __name__ == "__main__":
    sys.stdout.write(text())
