"""How the page server is set, what it keeps to itself, and who may read the store's files."""

from __future__ import annotations

import os
import re
import stat
import tomllib
from pathlib import Path

import pytest
import sqlalchemy as sa
from sqlalchemy.exc import DBAPIError
from streamlit import config

from inspect_core.imaging.header import MOST_BYTES
from storage import postgres
from storage.engine import FILE_NAME, open_engine
from tests.usecases.site import Site

ROOT = Path(__file__).parent.parent.parent
SETTINGS = tomllib.loads((ROOT / ".streamlit" / "config.toml").read_text(encoding="utf-8"))


@pytest.mark.parametrize(
    ("option", "value"),
    [
        ("server.enableXsrfProtection", True),
        ("server.enableCORS", True),
        ("server.enableStaticServing", False),
        ("server.enableAgentApi", False),
        ("server.fileWatcherType", "none"),
        ("server.runOnSave", False),
        ("server.maxUploadSize", MOST_BYTES // 2**20),
        ("server.maxMessageSize", 50),
        ("client.showErrorDetails", "none"),
        ("client.showErrorLinks", False),
        ("client.toolbarMode", "minimal"),
        ("client.disableDataExport", True),
        ("browser.gatherUsageStats", False),
        ("runner.magicEnabled", False),
    ],
)
def test_the_page_server_is_set_and_knows_the_option(option: str, value: object) -> None:
    part, name = option.split(".")
    assert SETTINGS[part][name] == value
    assert name in config.get_options_for_section(part)


def test_the_settings_in_the_project_hold_no_secret() -> None:
    assert "cookieSecret" not in SETTINGS["server"]
    ignored = (ROOT / ".gitignore").read_text(encoding="utf-8").split()
    assert ".streamlit/secrets.toml" in ignored
    assert not (ROOT / ".streamlit" / "secrets.toml").exists()


def test_an_error_of_the_database_names_no_value(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    engine = open_engine(tmp_path)
    with engine.connect() as connection, pytest.raises(DBAPIError) as told:
        connection.execute(sa.text("INSERT INTO nowhere VALUES (:name)"), {"name": "SECRET-1"})
    engine.dispose()
    assert "SECRET-1" not in str(told.value)
    given: dict[str, object] = {}

    def made(*_: object, **options: object) -> None:
        given.update(options)
        raise RuntimeError

    monkeypatch.setattr(postgres.sa, "create_engine", made)
    with pytest.raises(RuntimeError):
        open_engine("postgresql+psycopg://account@127.0.0.1:1/none")
    assert given["hide_parameters"] is True


@pytest.mark.skipif(os.name == "nt", reason="Windows keeps rights in another way")
@pytest.mark.sqlite
def test_nobody_else_may_read_a_store_even_in_a_folder_that_all_may_read(tmp_path: Path) -> None:
    folder = tmp_path / "store"
    folder.mkdir(mode=0o755)
    folder.chmod(0o755)
    before = os.umask(0o022)
    try:
        site = Site(folder)
        site.record(site.cut(site.lanyard(), 3.0))
    finally:
        os.umask(before)
    for path in folder.rglob("*"):
        inside_closed = any(not parent.stat().st_mode & 0o077 for parent in path.parents if parent != folder.parent)
        mode = stat.S_IMODE(path.stat().st_mode)
        assert inside_closed or not mode & 0o077, f"{path.relative_to(folder)} has mode {mode:o}"
    assert stat.S_IMODE((folder / FILE_NAME).stat().st_mode) == 0o600
    assert {path.name for path in folder.glob(f"{FILE_NAME}*")} >= {FILE_NAME, f"{FILE_NAME}-wal"}


SOURCES = [path for part in ("inspect_core", "storage", "sample_images") for path in (ROOT / part).rglob("*.py")]


@pytest.mark.parametrize(
    ("what", "allowed"),
    [
        (r"\b(?:pickle|shelve|marshal|dill)\b(?!\w)", ()),
        (r"\byaml\.(?:load|unsafe_load|full_load)\b", ()),
        (r"\b(?:eval|exec)\(|\bos\.system\b|\bos\.popen\b|shell=True", ()),
        (r"^\s*(?:import|from) subprocess\b", ()),
        (r"unsafe_allow_html=True|components\.v1\.html", ()),
        (r"verify=False|_create_unverified_context|CERT_NONE", ()),
        (r"tempfile\.mktemp\b|hashlib\.(?:md5|sha1)\(", ()),
    ],
)
def test_what_has_no_place_in_the_program_stands_nowhere_in_it(what: str, allowed: tuple[str, ...]) -> None:
    found = [
        f"{path.relative_to(ROOT)}:{number}"
        for path in SOURCES
        for number, line in enumerate(path.read_text(encoding="utf-8").splitlines(), 1)
        if re.search(what, line) and not line.lstrip().startswith(("#", '"""')) and path.name not in allowed
    ]
    assert found == []


def test_no_script_of_ours_makes_markup_of_text() -> None:
    scripts = list((ROOT / "inspect_core").rglob("*.js"))
    assert scripts
    for path in scripts:
        text = path.read_text(encoding="utf-8")
        assert not re.search(r"innerHTML|outerHTML|insertAdjacentHTML|document\.write|\beval\(|new Function\(", text), (
            path
        )
        assert not re.search(r"https?://(?!www\.w3\.org/)", text), path
