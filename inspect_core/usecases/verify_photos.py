"""Photos against their names, their copies against what was recorded of them, and files that nothing names."""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Mapping
from itertools import islice

from inspect_core.domain.errors import BartackError, NotFound
from inspect_core.domain.photos import Photo
from inspect_core.ledger import canonical
from inspect_core.ports import PhotoStore, UnitOfWork
from inspect_core.usecases.recorded import PHOTO, Body
from inspect_core.usecases.verify_report import Fault, Findings, Names

_PAGE = 500


def check_photos(
    uow: UnitOfWork,
    store: PhotoStore,
    found: Findings,
    names: Names,
    entries: Mapping[str, int],
    step: Callable[[str], None],
) -> int:
    """Look at every photo and return how many there are. `entries`: the entry that describes a photo, by its id, for
    photos that no inspection holds."""
    look = _Photos(uow, store, found, names, entries)
    after: int | str | None = None
    while page := uow.records.page("photo", after=after, limit=_PAGE):
        after = page[-1].key
        for one in page:
            if one.record is None:
                words = f"The row of photo {one.id} holds a value that cannot be read."
                found.add(Fault("changed", words, "photo", one.id))
            else:
                look.at(one.record, one.odd)
            step("photos")
    look.strays()
    if look.unused:
        found.notices.append(f"{look.unused} photos were taken in, but no record names them yet.")
    if look.undescribed:
        found.notices.append(
            f"{look.undescribed} photos were recorded before the ledger described photos: their files are checked by "
            f"their SHA-256, the other columns of their rows are not."
        )
    return look.many


class _Photos:
    def __init__(
        self, uow: UnitOfWork, store: PhotoStore, found: Findings, names: Names, entries: Mapping[str, int]
    ) -> None:
        self.uow, self.store, self.found, self.names, self.entries = uow, store, found, names, entries
        self.many = self.unused = self.undescribed = 0

    def at(self, photo: Photo, odd: tuple[str, ...]) -> None:
        self.many += 1
        uses = self.uow.photos.uses(photo.id)
        written, entry = self._described(photo.id, [inspection_id for _, inspection_id in uses])
        if entry is None and not uses:
            self.unused += 1
        elif written is None:
            self.undescribed += 1
        try:
            if len(self.store.original(photo.id)) != photo.size and written is None:
                self._tell("changed", photo.id, "The row of {} gives another size than its file has.", uses, entry)
        except NotFound:
            self._tell("removed", photo.id, "The file of {} is missing.", uses, entry)
        except BartackError:
            self._tell("changed", photo.id, "The file of {} was changed or damaged after it was stored.", uses, entry)
        for name, digest in sorted((written or {}).get("copies", photo.copies).items()):
            try:
                whole = hashlib.sha256(self.store.copy(photo.id, name)).hexdigest() == digest
                words = f"The {name} copy of {{}} was changed after it was made."
            except BartackError:
                whole, words = False, f"The {name} copy of {{}} is missing."
            if not whole:
                self._tell("changed", photo.id, words, uses, entry)
        if written is not None:
            now = PHOTO.now(photo, written)
            differ = [key for key in sorted(now) if canonical(now[key]) != canonical(written.get(key))] + list(odd)
            if differ:
                words = f"The row of {{}} was changed in the store: {', '.join(differ)} differ from entry {entry}."
                self._tell("changed", photo.id, words, uses, entry)

    def _described(self, photo_id: str, inspections: list[str]) -> tuple[Body | None, int | None]:
        """What the ledger says of a photo, and where; (None, number) where an older entry only names it."""
        number: int | None = None
        for inspection_id in inspections:
            for entry in self.uow.ledger.of_subject("inspection", inspection_id):
                number = entry.number
                for part_id, body in PHOTO.parts(entry):
                    if part_id == photo_id:
                        return body, number
        if photo_id in self.entries:
            for entry in self.uow.ledger.numbered([self.entries[photo_id]]):
                for part_id, body in PHOTO.parts(entry):
                    if part_id == photo_id:
                        return body, entry.number
        return None, number

    def _tell(self, harm: str, photo_id: str, words: str, uses: tuple[tuple[str, str], ...], entry: int | None) -> None:
        tag = day = None
        if uses:
            item_id, inspection_id = uses[0]
            tag = self.names.tag(item_id)
            of = next(iter(self.uow.ledger.of_subject("inspection", inspection_id)), None)
            day = str(of.body["inspection"]["at"])[:10] if of else None
        what = f"photo {photo_id}" + (f" of {tag}" if tag else "") + (f", inspection of {day}" if day else "")
        self.found.add(Fault(harm, words.format(what), "photo", photo_id, tag, day, entry))

    def strays(self) -> None:
        """Files without a row: an upload that was cut off, or a file that somebody put there. No record shows them."""
        ids, strays = self.store.ids(), 0
        while page := list(islice(ids, _PAGE)):
            strays += len(set(page) - self.uow.records.known("photo", page))
        if strays:
            self.found.notices.append(
                f"{strays} photo files have no row: uploads that were cut off, or files put there by hand. Nothing "
                f"shows them."
            )
