"""PINs and pass phrases: which are good enough, how wrong guesses lock them, and how long a sign-in lasts.

Source: NIST SP 800-63B, sections 5.1.1 (memorized secrets: at least 8 characters where the person chooses, 6 digits
where a machine does; no rules of composition; known bad values refused) and 5.2.2 (at most 100 failed attempts in a
row). A PIN of 6 digits that a person chose lies below the first figure: the site trades it for gloves and phones, and
pays with a lock after 10 failures instead of 100. The steps of the lock and the times are common practice, no source.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from enum import StrEnum

from inspect_core.domain.errors import BadInput, NotAllowed

LEAST_DIGITS = 6
LEAST_LETTERS = 10
MOST_LETTERS = 128
#: After so many wrong guesses in a row the PIN is locked for this long; after MOST_GUESSES until somebody resets it.
LOCKS = {5: timedelta(minutes=1), 6: timedelta(minutes=5), 7: timedelta(minutes=15), 8: timedelta(hours=1)}
LOCKS_LATER = timedelta(hours=4)
MOST_GUESSES = 10
#: The only administrator has nobody to reset the lock, so theirs ends after a day.
LONGEST_FOR_THE_LAST = timedelta(hours=24)
#: Wrong guesses in a minute over the whole store before every sign-in has to wait.
MOST_GUESSES_A_MINUTE = 20

_YEARS = re.compile(r"(19|20)\d\d(19|20)\d\d")
#: Ways over the keys of a phone, and numbers that everybody knows.
_WALKS = ("147258369963852741", "159357753951", "0123456789012345")
_KNOWN = ("246810", "135790", "314159", "271828", "10203040")
_PHRASES = ("password", "passphrase", "pass phrase", "bartack", "letmein", "let me in", "qwerty", "iloveyou")


class Method(StrEnum):
    """How somebody signed in."""

    PIN = "PIN"
    OPENID = "OpenID Connect"


@dataclass(frozen=True, slots=True)
class Credential:
    """A person's secret as it is kept: its Argon2 hash only. `given`: an administrator set it and knows it, so the
    person has to choose their own before they can sign. `failures` counts wrong guesses since the last right one."""

    person_id: str
    hash: str
    set_at: datetime
    given: bool = False
    failures: int = 0
    locked_until: datetime | None = None

    @property
    def locked_for_good(self) -> bool:
        """Until somebody resets it, unless an end of the lock is set."""
        return self.failures >= MOST_GUESSES and self.locked_until is None

    def locked_at(self, now: datetime) -> bool:
        return self.locked_for_good or (self.locked_until is not None and now < self.locked_until)


def guessed(credential: Credential, now: datetime, *, last_administrator: bool) -> Credential:
    """The credential after one more guess that is not known to be right yet."""
    failures = credential.failures + 1
    if failures >= MOST_GUESSES:
        until = now + LONGEST_FOR_THE_LAST if last_administrator else None
    elif failures >= min(LOCKS):
        until = now + LOCKS.get(failures, LOCKS_LATER)
    else:
        until = None
    return replace(credential, failures=failures, locked_until=until)


def check_lock(credential: Credential, now: datetime) -> None:
    """Nothing, or NotAllowed while the PIN is locked, whether or not the guess would be right."""
    if credential.locked_for_good:
        raise NotAllowed(
            f"This PIN is locked after {MOST_GUESSES} wrong guesses.", "Ask an administrator to set a new one."
        )
    if credential.locked_until is not None and now < credential.locked_until:
        minutes = max(1, -(-int((credential.locked_until - now).total_seconds()) // 60))
        wait = f"{minutes} minute{'s' if minutes > 1 else ''}" if minutes < 120 else f"{-(-minutes // 60)} hours"
        raise NotAllowed(
            "This PIN is locked for a while after wrong guesses.", f"Wait {wait}, or ask an administrator to reset it."
        )


def check_secret(secret: str, name: str) -> str:
    """A new PIN or pass phrase as it will be kept. Raises BadInput with what is wrong and which would do."""
    kept = as_entered(secret)
    good = f"Choose {LEAST_DIGITS} digits or more, or a pass phrase of {LEAST_LETTERS} characters or more."
    if len(kept) > MOST_LETTERS:
        raise BadInput(f"This is longer than {MOST_LETTERS} characters.", good)
    if kept.isdecimal() and kept.isascii():
        if len(kept) < LEAST_DIGITS:
            raise BadInput(f"A PIN has at least {LEAST_DIGITS} digits.", good)
        if _obvious_digits(kept):
            raise BadInput("This PIN is one of the first that anybody would try.", "Choose digits without a pattern.")
        return kept
    if len(kept) < LEAST_LETTERS:
        raise BadInput(f"A pass phrase has at least {LEAST_LETTERS} characters.", good)
    if _obvious_phrase(kept, name):
        raise BadInput(
            "This pass phrase is one of the first that anybody would try.", "Choose a few words that belong to you."
        )
    return kept


def as_entered(secret: str) -> str:
    """A secret as it is compared: runs of blanks count as one, as when it was set (NIST SP 800-63B, 5.1.1.2). What is
    no character, as a command line in another encoding gives, becomes a question mark and fits nothing."""
    return " ".join(secret.encode("utf-8", "replace").decode().split())


def _obvious_digits(pin: str) -> bool:
    steps = {(int(b) - int(a)) % 10 for a, b in zip(pin, pin[1:], strict=False)}
    if len(steps) == 1 or len(set(pin)) < 4:  # 123456, 987654, 246802; 111111, 121212, 112233
        return True
    if pin == pin[::-1] or pin in _KNOWN or _YEARS.fullmatch(pin):
        return True
    return any(pin in walk for walk in _WALKS)


def _obvious_phrase(phrase: str, name: str) -> bool:
    letters = phrase.casefold()
    squeezed = letters.replace(" ", "")
    named = name.casefold().replace(" ", "")
    if len(set(squeezed)) < 4 or (len(named) >= 4 and squeezed.replace(named, "").strip("0123456789!.") == ""):
        return True
    if any(squeezed.startswith(w.replace(" ", "")) and len(squeezed) - len(w) < 5 for w in _PHRASES):
        return True
    codes = [ord(sign) for sign in squeezed]
    return len({b - a for a, b in zip(codes, codes[1:], strict=False)}) == 1  # abcdefghij


@dataclass(frozen=True, slots=True)
class Lasting:
    """How long a sign-in lasts: in all, without use, and without use on a phone that several people share."""

    hours: int = 12
    idle_minutes: int = 30
    shared_minutes: int = 5

    def __post_init__(self) -> None:
        if not (1 <= self.hours <= 24 and 1 <= self.shared_minutes <= self.idle_minutes <= 480):
            raise BadInput(
                "These times of a sign-in cannot be.", "Give 1 to 24 hours, and 1 to 480 minutes without use."
            )


@dataclass(frozen=True, slots=True)
class SignIn:
    """One sign-in that was made. `key` is the SHA-256 of the number that the session holds, so that a copy of the store
    opens nothing."""

    key: str
    person_id: str
    method: Method
    started_at: datetime
    seen_at: datetime
    ends_at: datetime
    idle: timedelta

    def over_at(self, now: datetime) -> bool:
        """Whether it has run out, or was not used for too long."""
        return now >= self.ends_at or now - self.seen_at >= self.idle


@dataclass(frozen=True, slots=True)
class Actor:
    """Who acts, and the number that proves the sign-in."""

    person_id: str
    token: str = ""
