"""The command that does jobs aside is for stores on a server."""

from __future__ import annotations

from pathlib import Path

import pytest

from inspect_core.terminal import main


def test_a_store_in_a_folder_needs_no_worker_and_says_so(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as ended:
        main(["--store", str(tmp_path / "store"), "work"])
    assert ended.value.code == 1
    said = capsys.readouterr().err
    assert "A store in a folder has no queue" in said and "for a store on a server only" in said
    assert not (tmp_path / "store").exists()
