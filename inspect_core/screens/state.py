"""Every key that the screens keep in a browser session, in one place. Plain values only, and never a photo."""

from __future__ import annotations

import hashlib
import re
from datetime import date, time
from typing import Any

from inspect_core.screens.speaking import st

_PERSON = "person"
_SIGN_IN = "sign-in"
_PIN_KIND = "kind of secret"
_PIN_BOX = "boxes emptied"
_WORK = "work"
_NEWS = "news"
_ONCE = "once"
_PAGES = "pages"
_SETUP = "set-up habits"
_HANDED_OUT = "photos to read"
_TYPED = "typed before a fault"
_WAITING = "photos that wait"

#: More of them in one session would fill the server's memory.
_MOST_WAITING = 10
_ID = re.compile(r"[0-9a-f]{32}")


def widget(*parts: str) -> str:
    """The key of a widget, made of what it belongs to."""
    return "w|" + "|".join(parts)


def query(name: str) -> str | None:
    """A query parameter of the page's address: input from a stranger, cut to a sane length."""
    value = st.query_params.get(name)
    return value[:64] if value else None


def hold_typed() -> None:
    """Keep what stands in the boxes of a page that could not be drawn: whatever is not drawn is forgotten otherwise.
    Neither a PIN nor what was pressed is kept."""
    held = {
        key: value
        for key, value in st.session_state.items()
        if str(key).startswith(widget("")) and not str(key).startswith(widget("pin", "")) and _is_typed(value)
    }
    st.session_state[_TYPED] = {**st.session_state.get(_TYPED, {}), **held}


def give_back_typed() -> None:
    """Put back what `hold_typed` kept, before the page is drawn again; what was typed since wins."""
    for key, value in st.session_state.pop(_TYPED, {}).items():
        if st.session_state.get(key, value) == value:
            st.session_state[key] = value  # set anew also where it is the same: else it does not reach the box


def _is_typed(value: Any) -> bool:
    if isinstance(value, list | tuple):
        return all(_is_typed(one) for one in value)
    return isinstance(value, str | int | float | date | time) and not isinstance(value, bool)


def wait_with(draft_id: str, name: str, data: bytes) -> None:
    """Keep a photo that the store could not take: a phone may have no other copy of it. The one exception to the rule
    that no photo lies in a session; it goes when it is stored."""
    waiting: dict[str, tuple[str, bytes]] = st.session_state.setdefault(_WAITING, {}).setdefault(draft_id, {})
    if len(waiting) < _MOST_WAITING:
        waiting[hashlib.sha256(data).hexdigest()] = (name, data)


def waiting(draft_id: str) -> dict[str, tuple[str, bytes]]:
    """Names and bytes of the photos of that work which wait, by their SHA-256."""
    return dict(st.session_state.get(_WAITING, {}).get(draft_id, {}))


def no_longer_waits(draft_id: str, photo_id: str) -> None:
    st.session_state.get(_WAITING, {}).get(draft_id, {}).pop(photo_id, None)


def share_address(values: dict[str, str | None]) -> None:
    """Make the page's address carry these values and no others, so that it can be sent to somebody else."""
    wanted = {name: value for name, value in values.items() if value}
    if st.query_params.to_dict() != wanted:
        st.query_params.from_dict(wanted)


def begin_with(key: str, value: Any) -> str:
    """Give a widget its first value; afterwards it keeps what a person chose. Returns the key."""
    st.session_state.setdefault(key, value)
    return key


def query_id(name: str) -> str | None:
    """A query parameter that must be one of our identifiers; anything else counts as not given."""
    value = query(name)
    return value if value and _ID.fullmatch(value) else None


def person_id() -> str | None:
    """Who works in this session, if they have said so."""
    value = st.session_state.get(_PERSON)
    return value if isinstance(value, str) else None


def set_person(value: str | None) -> None:
    if value is None:
        st.session_state.pop(_PERSON, None)
        st.session_state.pop(_TYPED, None)
    else:
        st.session_state[_PERSON] = value


def sign_in() -> tuple[str, str] | None:
    """Who signed in here and the number that proves it to the store, which alone decides whether it still counts. Held
    on the server, never in the address. A person's id without a number that the store knows opens nothing."""
    held = st.session_state.get(_SIGN_IN)
    if isinstance(held, dict) and isinstance(held.get("person"), str) and isinstance(held.get("token"), str):
        return held["person"], held["token"]
    return None


def set_sign_in(person_id: str | None, token: str = "") -> None:
    if person_id is None:
        st.session_state.pop(_SIGN_IN, None)
        st.session_state.pop(_TYPED, None)
    else:
        st.session_state[_SIGN_IN] = {"person": person_id, "token": token}


def pin_kind() -> str | None:
    """PIN or pass phrase, as last chosen in this session."""
    value = st.session_state.get(_PIN_KIND)
    return value if isinstance(value, str) else None


def set_pin_kind(value: str) -> None:
    st.session_state[_PIN_KIND] = value


def pin_box(name: str) -> int:
    """How often the box of that name was emptied."""
    return int(st.session_state.get(_PIN_BOX, {}).get(name, 0))


def next_pin_box(name: str) -> None:
    st.session_state.setdefault(_PIN_BOX, {})[name] = pin_box(name) + 1


def work(draft_id: str) -> dict[str, Any] | None:
    """The unfinished inspection of that id as this session holds it."""
    held = st.session_state.get(_WORK)
    if not isinstance(held, dict) or held.get("id") != draft_id:
        return None
    body = held["body"]
    return body if isinstance(body, dict) else None


def set_work(draft_id: str, body: dict[str, Any]) -> None:
    """One unfinished inspection at a time; the others lie in the store."""
    st.session_state[_WORK] = {"id": draft_id, "body": body}


def drop_work() -> None:
    held = st.session_state.pop(_WORK, None)
    if isinstance(held, dict):
        st.session_state.get(_WAITING, {}).pop(held["id"], None)


def tell(problem: str, remedy: str = "", *, good: bool = False) -> None:
    """Keep a message for the next drawing of the page; a callback has no place of its own to write to."""
    st.session_state.setdefault(_NEWS, []).append([problem, remedy, good])


def take_news() -> list[tuple[str, str, bool]]:
    return [(str(p), str(r), bool(g)) for p, r, g in st.session_state.pop(_NEWS, [])]


def once(name: str, fresh: str) -> str:
    """An identifier that stays the same until `used(name)`: a double click then does the thing once."""
    kept: dict[str, str] = st.session_state.setdefault(_ONCE, {})
    return kept.setdefault(name, fresh)


def used(name: str) -> None:
    st.session_state.setdefault(_ONCE, {}).pop(name, None)


def page_number(name: str) -> int:
    """How many pages of a long list are open, at least 1."""
    value = st.session_state.setdefault(_PAGES, {}).get(name, 1)
    return int(value)


def more_pages(name: str) -> None:
    st.session_state.setdefault(_PAGES, {})[name] = page_number(name) + 1


def setup_habits() -> dict[str, str]:
    """Profile, units and place as last used for a set-up check in this session."""
    return dict(st.session_state.get(_SETUP, {}))


def set_setup_habit(name: str, value: str) -> None:
    st.session_state[_SETUP] = setup_habits() | {name: value}


def handed_out(person_id: str) -> list[list[str]] | None:
    """Photos that this session still has to read blind as [photo, inspection, kind]; None before any were handed out
    to that person, empty when all are read."""
    held = st.session_state.get(_HANDED_OUT)
    if not isinstance(held, dict) or held.get("by") != person_id:
        return None
    return [[str(part) for part in photo] for photo in held["photos"]]


def hand_out(person_id: str, photos: list[list[str]]) -> None:
    st.session_state[_HANDED_OUT] = {"by": person_id, "photos": photos}
