"""A camera roll: photos taken one after another without a connection, each item's label first, then its parts."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime


@dataclass(frozen=True, slots=True)
class Roll:
    """Photos that were dropped in together. `by` is the person's id; a roll is `done` when nothing is left to place."""

    id: str
    begun_at: datetime
    by: str
    done: bool = False


@dataclass(frozen=True, slots=True)
class RollPhoto:
    """One photo of a roll, with what a person changed about it.

    Parameters
    ----------
    name: the file's name as it came, for the order where the photo has no capture time.
    captured_at: the camera's own clock; naive where it gave no offset, None where the file does not say.
    tags: tags on our own labels in the picture, upper case, in order of finding.
    codes: texts of other bar codes and QR codes in the picture.
    item_id: where a person moved it, which goes before anything read.
    left_out: a person took it out; None where nobody said.
    draft_id: the unfinished inspection that it was put into.
    camera: what the file says of the camera, "" where it says nothing; one roll is one phone's.
    """

    photo_id: str
    name: str
    captured_at: datetime | None
    phash: str
    tags: tuple[str, ...] = ()
    codes: tuple[str, ...] = ()
    item_id: str | None = None
    left_out: bool | None = None
    draft_id: str | None = None
    camera: str = ""
