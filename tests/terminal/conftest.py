from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from inspect_core.terminal import main


@pytest.fixture
def run(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> Callable[..., tuple[int, str, str]]:
    """Run one command over a store of this test; returns (exit code, standard output, standard error)."""

    def _run(*arguments: str) -> tuple[int, str, str]:
        with pytest.raises(SystemExit) as left:
            main(["--store", str(tmp_path / "store"), *arguments])
        out, err = capsys.readouterr()
        return int(left.value.code or 0), out, err

    return _run
