"""Every limit and every finding says what it rests on, in one grammar; every source stands on docs/reference/sources.md, and nothing stands there unused."""

from __future__ import annotations

import ast
import importlib
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from shotcrit.checks.finding import COMMON
from shotcrit.checks.registry import all_checks

ROOT = Path(__file__).parents[2]
CHECKS = ROOT / "src" / "shotcrit" / "checks"
PAGE = (ROOT / "docs" / "reference" / "sources.md").read_text(encoding="utf-8")
OPENINGS = ("guess: ", "from memory: ", "calculated: ", "measured: ")
YEAR = re.compile(r"\b((?:19|20)\d\d|undated)\b\)?, (?!second hand|from memory|year)[^,;)]{3,}")
"""A year, and after it the place."""
CITED = re.compile(r"([A-Z][A-Za-z\u00c0-\u017f'-]+)(?: et al\.)?,? \(?((?:19|20)\d\d)\b")


def clauses(basis: str) -> list[str]:
    """Split at semicolons that stand in no brackets."""
    found, depth = [""], 0
    for sign in basis:
        depth += (sign == "(") - (sign == ")")
        if sign == ";" and depth == 0:
            found.append("")
        else:
            found[-1] += sign
    return [clause.strip() for clause in found]


def faults(basis: str) -> list[str]:
    """The clauses that say neither source with year and place, nor what else they are."""
    return [c for c in clauses(basis) if not (c == COMMON or c.startswith(f"{COMMON}: ") or _opened(c) or YEAR.search(c))]


def _opened(clause: str) -> bool:
    return any(clause.startswith(opening) and len(clause) >= len(opening) + 8 for opening in OPENINGS)


@pytest.mark.parametrize(
    ("basis", "good"),
    [
        ("guess", False), ("guess: ", False), ("guess: a quarter of a second", True), (COMMON, True), (f"{COMMON}: a rule", True), (f"{COMMON} perhaps", False),
        ("Katz (1991)", False), ("Katz (1991, second hand)", False), ("Katz (1991, Film Directing, second hand)", True), ("Somebody, A Page", False),
        ("A Page (undated, page.org)", True), ("a rule (Katz 1991, Film Directing; second hand); the size is a guess", False),
        ("a rule (Katz 1991, Film Directing; second hand); guess: the size of it", True), ("the trade does so", False),
    ],
)  # fmt: skip
def test_the_grammar_itself(basis: str, good: bool) -> None:
    assert (faults(basis) == []) == good


LIMITS = {f"{check.ID}.{limit.name}": limit.basis for check in all_checks() for limit in check.LIMITS}


@pytest.mark.parametrize("name", LIMITS)
def test_the_basis_of_a_limit(name: str) -> None:
    assert faults(LIMITS[name]) == []


def written_bases() -> Iterator[tuple[str, str]]:
    """Every text that is given as a basis in the checks' code: constants called ..BASIS, and what is named `basis`."""
    for path in sorted(CHECKS.rglob("*.py")):
        module = importlib.import_module(
            ".".join(["shotcrit", *path.relative_to(CHECKS.parent).with_suffix("").parts]).removesuffix(".__init__")
        )
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            value = _given(node)
            if isinstance(value, ast.Constant | ast.JoinedStr):
                text = _text(value, vars(module))
                if text:
                    yield f"{path.relative_to(CHECKS)}:{value.lineno}", text


def _given(node: ast.AST) -> ast.expr | None:
    if isinstance(node, ast.Assign) and isinstance(node.targets[0], ast.Name) and node.targets[0].id.lower().endswith("basis"):
        return node.value
    return node.value if isinstance(node, ast.keyword) and node.arg == "basis" else None


def _text(value: ast.expr, names: dict[str, object]) -> str:
    if isinstance(value, ast.Constant):
        return str(value.value)
    assert isinstance(value, ast.JoinedStr)
    parts = [str(p.value) if isinstance(p, ast.Constant) else str(names.get(getattr(p.value, "id", ""), "7")) for p in value.values]  # type: ignore[attr-defined]
    return "".join(parts)


def test_every_written_basis() -> None:
    found = dict(written_bases())
    assert len(found) > 15
    assert {where: faults(text.removesuffix("; {}")) for where, text in found.items() if faults(text.removesuffix("; {}"))} == {}


def rows() -> list[str]:
    return [line.split("|")[1] for line in PAGE.splitlines() if line.startswith("| ") and not line.startswith(("| source", "| ---"))]


def sources_named(text: str) -> set[tuple[str, str]]:
    return {(name, year) for name, year in CITED.findall(text)}


def test_every_source_of_a_limit_stands_on_the_page() -> None:
    named = {one for basis in [*LIMITS.values(), *dict(written_bases()).values()] for one in sources_named(basis)}
    assert len(named) > 15
    assert {one for one in named if not any(one[0] in row and one[1] in row for row in rows())} == set()


def _all_code() -> str:
    folders = (ROOT / "src" / "shotcrit", ROOT / "tests", ROOT / "bench")
    return "\n".join(p.read_text(encoding="utf-8") for f in folders for p in sorted(f.rglob("*.py")) if p != Path(__file__))


def test_no_row_of_the_page_is_unused() -> None:
    code = _all_code()
    unused = []
    for row in rows():
        first = re.match(r"\s*([\w.\u00c0-\u017f' -]+?)(?: et al\.| magazine| no\.|,| &| \()", row)
        assert first is not None, row
        if first[1].split()[-1] not in code:
            unused.append(row)
    assert unused == []


def test_the_code_points_to_no_file_that_the_repository_does_not_have() -> None:
    pointed = set(re.findall(r"\b([\w/-]+\.md)\b", _all_code()))
    here = {p.name for p in ROOT.rglob("*.md") if ".venv" not in p.parts and "node_modules" not in p.parts}
    assert {name for name in pointed if Path(name).name not in here} == set()
