"""Rolls, set-up checks, what the store remembers, and the doors to mail and to the reader of labels, as protocols."""

from __future__ import annotations

from collections.abc import Sequence
from email.message import EmailMessage
from typing import Any, Protocol

from inspect_core.domain.label_text import TextLine
from inspect_core.domain.roll import Roll, RollPhoto
from inspect_core.domain.setup import SetupRecord


class RollRepository(Protocol):
    """Camera rolls and what was read of their photos."""

    def add(self, roll: Roll) -> None: ...

    def get(self, roll_id: str) -> Roll:
        """Raises NotFound."""
        ...

    def unfinished(self, limit: int) -> tuple[tuple[Roll, int], ...]:
        """(roll, how many photos it holds), newest first."""
        ...

    def set_done(self, roll_id: str, done: bool) -> None: ...

    def add_photo(self, roll_id: str, photo: RollPhoto) -> bool:
        """In the order of adding. False, with nothing changed, where the roll holds that photo already."""
        ...

    def change_photo(self, roll_id: str, photo: RollPhoto) -> None:
        """Keeps what a person changed; what was read of the picture stays."""
        ...

    def photos(self, roll_id: str) -> tuple[RollPhoto, ...]: ...

    def elsewhere(self, roll_id: str, photo_ids: Sequence[str]) -> frozenset[str]:
        """Which of these photos another roll has put into an unfinished inspection."""
        ...


class SetupRepository(Protocol):
    """Recorded set-up checks."""

    def add(self, record: SetupRecord) -> None: ...

    def find(self, record_id: str) -> SetupRecord | None: ...

    def get(self, record_id: str) -> SetupRecord:
        """Raises NotFound."""
        ...

    def of_item(self, item_id: str) -> tuple[SetupRecord, ...]:
        """Newest first."""
        ...


class SettingsRepository(Protocol):
    """What the store itself remembers, by name, as plain JSON data."""

    def get(self, name: str) -> Any:
        """None where nothing is remembered by that name."""
        ...

    def put(self, name: str, value: Any) -> None: ...


class LabelReader(Protocol):
    """Reads text in pictures."""

    def read(self, rgb: Any) -> tuple[TextLine, ...]:
        """Lines of text in an upright picture, (rows, columns, 3) RGB of 8 bit; boxes in its own pixels."""
        ...


class Mailer(Protocol):
    """Sends mail."""

    @property
    def settings(self) -> Any:
        """Where mail goes: see `usecases.mail.MailSettings`."""
        ...

    def send(self, message: EmailMessage) -> None:
        """Raises StoreFault where the server cannot be reached or refuses."""
        ...
