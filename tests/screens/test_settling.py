"""What is loaded once is set aside from the search for garbage, and only then."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

_PROGRAM = """
import gc
from inspect_core.screens.settling import settle
first, aside = settle(), gc.get_freeze_count()
again, same = settle(), gc.get_freeze_count()
import wave  # something that was not loaded before
third, more = settle(), gc.get_freeze_count()
assert (first, again, third) == (True, False, True), (first, again, third)
assert 0 < aside == same < more, (aside, same, more)
assert len(gc.get_objects()) < aside / 10
"""


def test_modules_are_set_aside_once_and_again_when_more_are_loaded() -> None:
    # In a program of its own: what is set aside stays so.
    done = subprocess.run(
        [sys.executable, "-c", _PROGRAM], cwd=Path(__file__).parents[2], capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stderr
