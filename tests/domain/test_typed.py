"""What people type, without what they do not see."""

import pytest

from inspect_core.domain.typed import SEEN, one_line, some_lines


@pytest.mark.parametrize(
    ("typed", "kept"),
    [
        ("  Worker  7 ", "Worker 7"),
        ("Ward\x1b[2J\x07 7\n", "Ward[2J 7"),
        ("a\r\nb\tc\x0bd\u2028e", "a b c d e"),
        ("7\u202e321\u202c", "7321"),
        ("\u2066x\u2069\x9b31m\x7f\x00", "x31m"),
        ("Jo\ud83d Roof", "Jo Roof"),
        ("Zoë Ōe \u0646\u200c\u0627", "Zoë Ōe \u0646\u200c\u0627"),
        ("👷\u200d♀️", "👷\u200d♀️"),
    ],
)
def test_one_line_keeps_letters_and_nothing_that_is_obeyed(typed: str, kept: str) -> None:
    assert one_line(typed) == kept
    assert one_line(kept) == kept


def test_a_note_keeps_its_lines() -> None:
    assert some_lines(" wet\r\n\tand\u202e dirty\x1b]0;x\x07\n\n") == "wet\n\tand dirty]0;x"


def test_a_terminal_shows_a_sign_for_each() -> None:
    assert "a\x1b[2Jb\n\tc\u202e".translate(SEEN) == "a\ufffd[2Jb\n\tc\ufffd"
