"""The page on the JSON names every key of the schema."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import pytest

from shotcrit.deliver.follow_json import follow_schema
from shotcrit.deliver.measure_json import measure_schema

REFERENCE = Path(__file__).parents[3] / "docs" / "reference"
PAGE = REFERENCE / "measure-json.md"


def keys(schema: Any) -> set[str]:
    """Every property name anywhere in a schema."""
    if isinstance(schema, dict):
        own = set(schema.get("properties", {}))
        return own.union(*(keys(value) for value in schema.values()))
    return set().union(*(keys(value) for value in schema)) if isinstance(schema, list) else set()


@pytest.mark.parametrize("key", sorted(keys(measure_schema())))
def test_the_key_is_on_the_page(key: str) -> None:
    assert re.search(rf"[`*]{re.escape(key)}\b", PAGE.read_text(encoding="utf-8"))


@pytest.mark.parametrize("key", sorted(keys(follow_schema()) - keys(measure_schema())))
def test_the_key_of_two_takes_is_on_the_page(key: str) -> None:
    assert re.search(rf"[`*]{re.escape(key)}\b", (REFERENCE / "follow-json.md").read_text(encoding="utf-8"))


@pytest.mark.parametrize("schema", [measure_schema(), follow_schema()], ids=["measure", "follow"])
def test_every_object_of_the_schema_is_closed(schema: dict[str, Any]) -> None:
    objects = [schema, *(part for part in schema["$defs"].values() if part.get("type") == "object")]
    assert len(objects) > 10
    assert all(part["additionalProperties"] is False for part in objects)
    assert all(set(part["required"]) == set(part["properties"]) for part in objects)
