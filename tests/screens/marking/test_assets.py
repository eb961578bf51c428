"""The component's script, style and looks, as far as they can be judged without a browser."""

from __future__ import annotations

import re
from collections import Counter

from inspect_core.domain.marks import Category
from inspect_core.domain.palette import STROKES
from inspect_core.screens.marking import assets

TOP_LEVEL_NAME = re.compile(r"^(?:export )?(?:async )?(?:const|let|function|class) (\w+)", re.MULTILINE)
IMPORT = re.compile(r'^import \{ ([\w, ]+) \} from "\./(\w+\.js)";$', re.MULTILINE)
LIMIT_LINES = 400


def test_the_joined_script_has_one_default_export_and_no_import_left() -> None:
    for script in (assets.script(), assets.readings_script(), assets.forget_script()):
        assert script.count("export default function") == 1
        assert not re.search(r"^(import|export (?!default))", script, re.MULTILINE)


def test_top_level_names_are_unique_over_all_joined_files() -> None:
    names = [name for file in assets.SCRIPT_FILES for name in TOP_LEVEL_NAME.findall(assets.read_text(file))]
    assert [name for name, count in Counter(names).items() if count > 1] == []


def test_every_import_names_a_joined_file_that_exports_it() -> None:
    for file in assets.SCRIPT_FILES:
        text = assets.read_text(file)
        assert len(IMPORT.findall(text)) == len(re.findall(r"^import ", text, re.MULTILINE)), file
        for names, source in IMPORT.findall(text):
            assert source in assets.SCRIPT_FILES, (file, source)
            for name in names.split(", "):
                assert re.search(rf"^export (const|let|function) {name}\b", assets.read_text(source), re.MULTILINE), (
                    name
                )


def test_no_script_turns_text_into_markup_or_code() -> None:
    forbidden = (
        "innerHTML",
        "outerHTML",
        "insertAdjacentHTML",
        "document.write",
        "eval(",
        "new Function",
        "javascript:",
    )
    scripts = assets.script() + assets.readings_script() + assets.forget_script()
    assert [word for word in forbidden if word in scripts] == []


def test_the_files_stay_readable() -> None:
    for file in (*assets.SCRIPT_FILES, *assets.STYLE_FILES, "readings.js", "forget.js"):
        assert len(assets.read_text(file).splitlines()) <= LIMIT_LINES, file


def test_every_category_has_a_line_pattern_of_its_own() -> None:
    assert set(STROKES) == set(Category)
    assert len({look.dash for look in STROKES.values()}) == len(Category)


def test_colours_are_those_of_okabe_and_ito() -> None:
    # Okabe and Ito, "Color Universal Design", 2008, https://jfly.uni-koeln.de/color/ : the RGB values of the figure
    # "Set of colors that is unambiguous both to colorblinds and non-colorblinds", without black.
    published = {
        (230, 159, 0),
        (86, 180, 233),
        (0, 158, 115),
        (240, 228, 66),
        (0, 114, 178),
        (213, 94, 0),
        (204, 121, 167),
    }
    used = {tuple(int(look.colour[i : i + 2], 16) for i in (1, 3, 5)) for look in STROKES.values()}
    assert used == published
