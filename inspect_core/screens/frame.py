"""What every screen is handed: the services, who is working, and the ways to the other screens."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import date
from typing import Any, NoReturn

from inspect_core.domain.people import Person, Role
from inspect_core.domain.typed import UNSEEN
from inspect_core.screens import state
from inspect_core.screens.speaking import st, tongue
from inspect_core.usecases import review, sign_in
from inspect_core.usecases.services import Services

_DRAWING = "drawing"


@dataclass(frozen=True)
class Frame:
    """`pages` maps a screen's name to what Streamlit calls its page."""

    services: Services
    pages: Mapping[str, Any]
    _answered: dict[Any, Any] = field(default_factory=dict, compare=False, repr=False)

    @property
    def today(self) -> date:
        return self.services.today()

    def locked(self) -> bool:
        """Whether this site has sign-in."""
        return bool(self._asked("locked", lambda: sign_in.is_locked(self.services)))

    def person(self) -> Person | None:
        """Who works in this session; None until they said so, or signed in where the site has sign-in, and when they
        are no longer active here."""
        found: Person | None = self._asked((state.person_id(), state.sign_in()), self._person)
        return found

    def _person(self) -> Person | None:
        if self.locked():
            return sign_in.signed_in(self.services)
        wanted = state.person_id()
        return next((p for p in review.people(self.services) if p.id == wanted), None) if wanted else None

    @contextmanager
    def drawing(self) -> Iterator[None]:
        """Inside the block who works here is asked of the store once, though a page needs it a dozen times. A part of a
        page that is drawn by itself later asks anew."""
        self._answered[_DRAWING] = True
        try:
            yield
        finally:
            self._answered.clear()

    def _asked(self, what: Any, ask: Callable[[], Any]) -> Any:
        if _DRAWING not in self._answered:
            return ask()
        if what not in self._answered:
            self._answered[what] = ask()
        return self._answered[what]

    def go(self, page: str, **query: str) -> NoReturn:
        """Leave for another screen."""
        st.switch_page(self.pages[page], query_params=query)

    def link(self, page: str, label: str, *, icon: str | None = None, wide: bool = True, **query: str) -> None:
        """A link to another screen, as big as a button."""
        st.page_link(
            self.pages[page],
            label=plain(label),
            icon=icon,
            width="stretch" if wide else "content",
            query_params=query or None,
        )


#: Isolates stay: they turn nothing round outside of themselves, and say whose words lie between them.
_UNSEEN = {code: sign for code, sign in UNSEEN.items() if code not in (0x2068, 0x2069)}
_SPECIAL = _UNSEEN | str.maketrans({sign: f"\\{sign}" for sign in "\\`*_{}[]()<>#+-.!|~$:&"})


_ROLES = {one.value for one in Role}


def plain(text: str) -> str:
    """Text from a person, made safe where Streamlit would read Markdown: every special sign loses its meaning, and
    what nobody sees but a browser obeys is left out."""
    return " ".join(text.split()).translate(_SPECIAL)


def person_words(label: str) -> str:
    """Somebody in a list to choose from, "name, role": the name as it is, the role in words."""
    name, comma, role = label.rpartition(", ")
    return f"{tongue().written(name)}{comma}{role}" if role in _ROLES else label


def own(text: str) -> str:
    """What a person chose (a tag, a name, a serial number, a note), made safe, and shown as it is in every language."""
    return plain(tongue().written(text))
