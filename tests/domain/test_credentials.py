"""Which PINs are good enough, how wrong guesses lock, how long a sign-in lasts (NIST SP 800-63B, 5.1.1 and 5.2.2)."""

from datetime import UTC, datetime, timedelta

import pytest

from inspect_core.domain.credentials import (
    MOST_GUESSES,
    Credential,
    Lasting,
    Method,
    SignIn,
    as_entered,
    check_lock,
    check_secret,
    guessed,
)
from inspect_core.domain.errors import BadInput, NotAllowed

NOW = datetime(2026, 5, 4, 9, 0, tzinfo=UTC)


@pytest.mark.parametrize("secret", ["739164", "85030276", "correct horse battery", "rope over roof", "Ünïcode satz"])
def test_a_good_pin_or_phrase_is_kept_as_it_is(secret):
    assert check_secret(secret, "Inspector 3") == secret


@pytest.mark.parametrize(
    "secret",
    ["111111", "123456", "654321", "000000", "121212", "123123", "112233", "147258", "19902001", "246810", "123321"],
)
def test_a_pin_that_anybody_would_try_first_is_refused(secret):
    with pytest.raises(BadInput, match="first that anybody would try"):
        check_secret(secret, "Somebody")


@pytest.mark.parametrize(
    "secret", ["passwordpass", "aaaaaaaaaaaa", "abcdefghijk", "Inspector 3", "Inspector3 2024", "bartack123!"]
)
def test_a_phrase_that_anybody_would_try_first_is_refused(secret):
    with pytest.raises(BadInput, match="first that anybody would try"):
        check_secret(secret, "Inspector 3")


@pytest.mark.parametrize(
    ("secret", "said"),
    [("", "at least 10"), ("12345", "at least 6 digits"), ("short one", "at least 10"), ("x" * 129, "longer than 128")],
)
def test_what_is_too_short_or_too_long_is_refused_and_says_what_would_do(secret, said):
    with pytest.raises(BadInput, match=said) as refused:
        check_secret(secret, "Somebody")
    assert "6 digits or more, or a pass phrase of 10" in refused.value.remedy


def test_runs_of_blanks_count_as_one():
    assert check_secret("  rope   over roof ", "x") == as_entered("rope over  roof") == "rope over roof"


def guesses(many: int, *, last: bool = False) -> Credential:
    credential = Credential("p", "hash", NOW)
    for _ in range(many):
        credential = guessed(credential, NOW, last_administrator=last)
    return credential


@pytest.mark.parametrize(("wrong", "minutes"), [(1, 0), (4, 0), (5, 1), (6, 5), (7, 15), (8, 60), (9, 240)])
def test_the_lock_grows_with_every_wrong_guess_from_the_fifth(wrong, minutes):
    credential = guesses(wrong)
    if not minutes:
        check_lock(credential, NOW)
        return
    with pytest.raises(NotAllowed, match="locked for a while"):
        check_lock(credential, NOW + timedelta(minutes=minutes, seconds=-1))
    check_lock(credential, NOW + timedelta(minutes=minutes))


def test_after_ten_wrong_guesses_only_an_administrator_helps():
    credential = guesses(MOST_GUESSES)
    assert credential.locked_for_good
    with pytest.raises(NotAllowed, match="locked after 10 wrong guesses") as refused:
        check_lock(credential, NOW + timedelta(days=3650))
    assert refused.value.remedy == "Ask an administrator to set a new one."


def test_the_only_administrator_is_locked_for_a_day_since_nobody_could_help():
    credential = guesses(40, last=True)
    with pytest.raises(NotAllowed, match="locked for a while"):
        check_lock(credential, NOW + timedelta(hours=23, minutes=59))
    check_lock(credential, NOW + timedelta(hours=24))


@pytest.mark.parametrize(
    ("later", "seen", "over"),
    [
        (timedelta(minutes=29), timedelta(), False),
        (timedelta(minutes=30), timedelta(), True),
        (timedelta(hours=11, minutes=59), timedelta(hours=11, minutes=40), False),
        (timedelta(hours=12), timedelta(hours=11, minutes=59), True),
    ],
)
def test_a_sign_in_ends_without_use_and_at_the_end_of_the_shift(later, seen, over):
    one = SignIn("k", "p", Method.PIN, NOW, NOW + seen, NOW + timedelta(hours=12), timedelta(minutes=30))
    assert one.over_at(NOW + later) is over


@pytest.mark.parametrize("times", [(0, 30, 5), (25, 30, 5), (12, 5, 30), (12, 481, 5), (12, 30, 0)])
def test_times_that_cannot_be_are_refused(times):
    with pytest.raises(BadInput, match="cannot be"):
        Lasting(*times)
