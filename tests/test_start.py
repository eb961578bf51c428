"""A page waits for no library that it does not need: what the first page, a search and the commands must not load."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest

from tests.screens import app

_ROOT = Path(__file__).parents[1]
#: What takes long to load, and what it is for.
_HEAVY = {
    "cv2": "photos that come in or are drawn on",
    "scipy": "trends and colours",
    "skimage": "colours",
    "statsmodels": "trends",
    "reportlab": "papers",
    "altair": "charts",
    "vl_convert": "charts on paper",
    "zxingcpp": "codes in photos",
    "shapely": "roofs",
    "openpyxl": "spreadsheets",
    "icalendar": "calendars",
    "imagehash": "photos that come in",
    "onnxruntime": "labels",
    "loky": "several processes",
    "psycopg": "stores on a server",
    "obstore": "photos in a bucket",
    "dask": "many stores",
}
_DRAW = """
import json, sys
from streamlit.testing.v1 import AppTest
app = AppTest.from_function(draw, args=(sys.argv[1], sys.argv[2]), default_timeout=60).run()
assert not app.exception and not app.error, [e.value for e in (*app.exception, *app.error)]
assert app.title, "nothing was drawn"
print(json.dumps(sorted({name.split(".")[0] for name in sys.modules})))
"""
_SCREEN = """
def draw(store, screen):
    from inspect_core.bootstrap import open_services
    from inspect_core.screens.shell import run
    run(lambda: open_services(store), first=screen)
"""


def _loaded(*command: str, code: str = "") -> set[str]:
    """Names of the libraries that a process of its own has loaded when it is done."""
    done = subprocess.run([sys.executable, *command], cwd=_ROOT, capture_output=True, text=True, timeout=120)
    assert done.returncode == 0, done.stderr[-2000:]
    return set(json.loads(done.stdout.splitlines()[-1]))


@pytest.mark.parametrize("screen", ["today", "search", "register"])
@pytest.mark.sqlite
def test_a_page_loads_no_library_that_it_does_not_need(tmp_path, screen):
    app.site(tmp_path / "store", "WL-1", "WL-2").close()
    script = tmp_path / "draw.py"
    script.write_text(f"import sys\nsys.path.insert(0, {str(_ROOT)!r})\n{_SCREEN}{_DRAW}")
    loaded = _loaded("-W", "ignore", str(script), str(tmp_path / "store"), screen)
    assert "streamlit" in loaded and "sqlalchemy" in loaded
    assert loaded & set(_HEAVY) == set()


@pytest.mark.parametrize("arguments", [["--help"], ["check", "--help"]])
def test_help_on_the_command_line_loads_neither_page_nor_database(arguments):
    code = (
        "import json, sys\nfrom inspect_core.terminal import bartack\n"
        f"bartack.main({arguments!r}, prog_name='bartack', standalone_mode=False)\n"
        "print()\nprint(json.dumps(sorted({name.split('.')[0] for name in sys.modules})))"
    )
    loaded = _loaded("-c", code)
    assert "click" in loaded
    assert loaded & ({"streamlit", "sqlalchemy", "numpy", "pandas", "alembic"} | set(_HEAVY)) == set()


@pytest.mark.sqlite
def test_checking_an_item_on_the_command_line_loads_only_the_database(tmp_path):
    app.site(tmp_path / "store", "WL-1").close()
    code = (
        "import json, sys\nfrom inspect_core.terminal import bartack\n"
        f"bartack.main(['--store', {str(tmp_path / 'store')!r}, 'history', 'WL-1'], standalone_mode=False)\n"
        "print()\nprint(json.dumps(sorted({name.split('.')[0] for name in sys.modules})))"
    )
    loaded = _loaded("-c", code)
    assert "sqlalchemy" in loaded
    # A history tells set-up checks in the words of `rigging`, which knows roofs.
    assert loaded & ({"streamlit", "pandas"} | set(_HEAVY) - {"shapely"}) == set()
