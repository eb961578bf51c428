"""Every refusal that the set-up checks can speak has a case here or in the tables of its neighbours."""

from __future__ import annotations

import ast
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

import inspect_core.rigging
from inspect_core.domain.errors import BadInput
from inspect_core.rigging.rig_case import rig_case
from tests.rigging.refusals import ALL
from tests.rigging.test_rig_case import REFUSALS

PACKAGE = Path(inspect_core.rigging.__file__).parent
Site = tuple[str, int]


def sites() -> dict[Site, int]:
    """Every place in the package that makes a refusal: (file, first line) to its last line."""
    found: dict[Site, int] = {}
    for path in PACKAGE.rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text("utf-8"))):
            if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id == "BadInput":
                found[(path.name, node.lineno)] = node.end_lineno or node.lineno
    return found


@contextmanager
def listening() -> Iterator[set[Site]]:
    """Collects where refusals are made, also those that are caught and told together with others."""
    known, whole = sites(), BadInput.__init__
    heard: set[Site] = set()

    def hear(self: BadInput, problem: str, remedy: str) -> None:
        frame = sys._getframe(1)
        name, line = Path(frame.f_code.co_filename).name, frame.f_lineno
        heard.update(site for site, last in known.items() if site[0] == name and site[1] <= line <= last)
        whole(self, problem, remedy)

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(BadInput, "__init__", hear)
        yield heard


@pytest.mark.parametrize(("make", "words"), [row[1:] for row in ALL], ids=[row[0] for row in ALL])
def test_what_cannot_be_judged_is_refused_with_a_reason_and_a_remedy(make: Callable[[], object], words: str) -> None:
    with pytest.raises(BadInput) as refusal:
        make()
    assert words in refusal.value.problem
    assert refusal.value.problem.endswith(".") and refusal.value.remedy.endswith(".")


def test_every_refusal_in_the_package_is_reached_by_a_case() -> None:
    with listening() as heard:
        for _, case, _ in REFUSALS:
            with pytest.raises(BadInput):
                rig_case(case)
        for _, make, _ in ALL:
            with pytest.raises(BadInput):
                make()
    assert sorted(set(sites()) - heard) == []
