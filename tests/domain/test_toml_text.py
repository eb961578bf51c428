"""Reading TOML within limits."""

import pytest

from inspect_core.domain.toml_text import MOST_DOTS, MOST_LETTERS, read_toml


def test_ordinary_toml_is_read() -> None:
    assert read_toml('[a.b]\nc = 1\nd = ["x"]') == {"a": {"b": {"c": 1, "d": ["x"]}}}


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("a" + ".a" * 100_000 + " = 1", "dots"),
        ("x = 1\n[" + "a." * 50_000 + "a]", "line 2"),
        ("a = " + "1" * 5000, "great length"),
        ("a = " + "[" * 5000 + "]" * 5000, "too deeply"),
        ("a = " + "{a=" * 5000 + "1" + "}" * 5000, "too deeply"),
        ("# " + "x" * MOST_LETTERS, "longer than"),
        ("a = 2026-02-30", "Invalid date"),
        ("a = 1\na = 2", "overwrite"),
    ],
)
def test_what_would_take_gigabytes_or_the_whole_stack_is_refused_with_a_reason(text: str, said: str) -> None:
    with pytest.raises(ValueError, match=said):
        read_toml(text)


def test_a_key_of_as_many_parts_as_are_allowed_is_read() -> None:
    read = read_toml("a" + ".a" * MOST_DOTS + " = 1")
    for _ in range(MOST_DOTS):
        read = read["a"]
    assert read == {"a": 1}
