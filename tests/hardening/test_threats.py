"""The page on threats names tests that exist and limits that hold."""

import ast
import importlib
import re
from functools import cache
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent.parent
PAGE = (ROOT / "docs" / "threats.md").read_text(encoding="utf-8")
TESTS = sorted(set(re.findall(r"`(tests/[\w/]+\.py)::(\w+)`", PAGE)))
LIMITS = sorted(set(re.findall(r"`([\w.]+)\.(_?[A-Z][A-Z_]+) = (\d+)`", PAGE)))


@cache
def _functions(file: str) -> frozenset[str]:
    path = ROOT / file
    assert path.is_file(), f"{file} is not there"
    return frozenset(
        node.name for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))) if isinstance(node, ast.FunctionDef)
    )


@pytest.mark.parametrize(("file", "name"), TESTS, ids=[name for _, name in TESTS])
def test_a_test_that_the_page_names_is_there(file: str, name: str) -> None:
    assert name in _functions(file)


@pytest.mark.parametrize(("module", "name", "value"), LIMITS, ids=[f"{module}.{name}" for module, name, _ in LIMITS])
def test_a_limit_that_the_page_names_holds(module: str, name: str, value: str) -> None:
    assert getattr(importlib.import_module(module), name) == int(value)


def _rows() -> list[list[str]]:
    lines = (line.strip() for line in PAGE.splitlines() if line.startswith("| "))
    return [[cell.strip() for cell in line.strip("|").split("|")] for line in lines]


def test_every_threat_has_a_test_and_every_chapter_of_the_standard_is_spoken_of() -> None:
    threats = [row for row in _rows() if len(row) == 3 and row[0] not in ("threat", "---", "way in")]
    in_limits = PAGE.index("## Every way in")
    told = [row for row in threats if PAGE.index(row[0]) < in_limits]
    assert len(told) > 40
    for threat, guard, tests in told:
        assert guard and re.search(r"tests/[\w/]+\.py::\w+", tests), threat
    assert {f"V{number}" for number in range(1, 18)} <= set(re.findall(r"\bV\d+\b", PAGE))


def test_the_page_says_what_is_not_guarded() -> None:
    open_ends = PAGE.split("## What is not guarded", 1)[1]
    for words in ("owns the machine", "Hidden damage", "lying camera", "open site", "Denial"):
        assert words in open_ends
