"""One thing has one name: what docs/reference/words.md rules out stands in no label, help or doc."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
import typer

from shotcrit.checks.registry import all_checks
from shotcrit.cli.app import app
from shotcrit.measuring.deliveries import DELIVERIES

ROOT = Path(__file__).parents[2]
TABLE = ROOT / "docs" / "reference" / "words.md"
SAID_ELSEWHERE = {TABLE, ROOT / "docs" / "decisions.md"}
"""The table itself, and what tells of the past."""


def table() -> list[tuple[str, list[str]]]:
    """Each word with what it is not called."""
    rows = [line.strip("| ").split(" | ") for line in TABLE.read_text(encoding="utf-8").splitlines() if line.startswith("| ")]
    return [(word, [one.strip() for one in ruled_out.split(",")]) for word, _, ruled_out in rows[2:]]


def labels(source: str) -> Iterator[str]:
    """What people read of a component or a list of actions: text between tags, sentences, names of actions. A lone word is a name of the code."""
    source = re.sub(r"<style>.*?</style>", "", source, flags=re.DOTALL)
    source = re.sub(r"/\*.*?\*/|<!--.*?-->|(?<!:)//[^\n]*|^import .*?$|^  import .*?$", "", source, flags=re.DOTALL | re.MULTILINE)
    yield from (one for one in re.findall(r"'([^'\n]*)'", source) if " " in one)
    yield from re.findall(r"\['[\w-]+', '([^'\n]+)', '", source)
    yield from re.findall(r"`([^`]*)`", source)
    yield from re.findall(r'(?:title|aria-label|placeholder|label|alt)="([^"]*)"', source)
    if "</" in source:
        yield from re.findall(r">([^<>{}]*[A-Za-z][^<>{}]*)<", re.sub(r"<script.*?</script>", "", source, flags=re.DOTALL))


def room() -> Iterator[tuple[str, str]]:
    for path in sorted((ROOT / "web" / "src").rglob("*")):
        if path.suffix in (".svelte", ".ts") and ".test." not in path.name and "schema.d" not in path.name:
            yield path.name, "\n".join(labels(path.read_text(encoding="utf-8")))


def docs() -> Iterator[tuple[str, str]]:
    for path in (ROOT / "README.md", *sorted((ROOT / "docs").rglob("*.md"))):
        if path not in SAID_ELSEWHERE:
            yield path.name, re.sub(r"`[^`]*`", " ", path.read_text(encoding="utf-8"))


def sent() -> Iterator[tuple[str, str]]:
    for path in sorted((ROOT / "src" / "shotcrit" / "deliver" / "templates").iterdir()):
        if path.suffix in (".j2", ".typ"):
            source = re.sub(r"{[%{].*?[%}]}", " ", path.read_text(encoding="utf-8"), flags=re.DOTALL)
            strings = (
                re.findall(r'"([^"\n]*)"', source)
                if path.suffix == ".typ"
                else re.findall(r">([^<>]+)<|(?:aria-label|title|placeholder)=\"([^\"]*)\"", source)
            )
            yield path.name, "\n".join(one if isinstance(one, str) else "".join(one) for one in strings)


def commands() -> Iterator[tuple[str, str]]:
    group: Any = typer.main.get_command(app)
    for name in group.list_commands(None):
        command = group.get_command(None, name)
        yield name, "\n".join([command.help or "", *(getattr(p, "help", None) or "" for p in command.params)])
    yield "deliveries", "\n".join(d.help for d in DELIVERIES)
    for check in all_checks():
        words = [check.TITLE, check.HELP, *(k.words for k in check.KINDS), *(limit.help for limit in check.LIMITS)]
        yield check.ID, "\n".join(words)


def read() -> list[tuple[str, str]]:
    return [*room(), *docs(), *sent(), *commands()]


TEXTS = read()


@pytest.mark.parametrize(("word", "ruled_out"), table(), ids=lambda v: v if isinstance(v, str) else "")
def test_a_thing_is_called_by_its_one_name(word: str, ruled_out: list[str]) -> None:
    pattern = re.compile(rf"(?<![\w-])(?:{'|'.join(map(re.escape, ruled_out))})(?![\w-])", re.IGNORECASE)
    found = [f"{where}: {hit[0]}" for where, text in TEXTS if (hit := pattern.search(text))]
    assert found == [], f"say '{word}'"


def test_every_row_rules_something_out_and_no_word_is_ruled_out_by_another() -> None:
    rows = table()
    assert len(rows) >= 20
    assert all(ruled_out and all(ruled_out) for _, ruled_out in rows)
    words = {one.strip() for word, _ in rows for one in word.split(",")}
    assert words.isdisjoint({one for _, ruled_out in rows for one in ruled_out})


@pytest.mark.parametrize(
    "source",
    ["<p>Go to study</p>", "['a', 'b', 'k', 'Play and loop.']", '<button title="throw away">x</button>', "const a = `each marker ${n}`;"],
)
def test_labels_are_read_where_people_read_them(source: str) -> None:
    text = "\n".join(labels(source))
    assert re.search(r"study|loop|throw away|each marker", text)
