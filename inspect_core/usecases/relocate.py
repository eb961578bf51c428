"""The whole store to another place: from a folder to a server, back, or from one server to another.

Nobody records in the old place meanwhile: the move holds its write lock from the first record read to the last look.
The new place counts only when it was looked through whole and ends at the same signed head; then the old one is
closed, so that nothing is recorded in a place where nobody looks. Until then it stays as it was, whatever happens.
"""

from __future__ import annotations

import hashlib
import os
from collections import deque
from collections.abc import Callable, Iterator
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import Any

from inspect_core.domain.access import Action
from inspect_core.domain.errors import BadInput, BartackError, Conflict, NotFound, StoreFault
from inspect_core.domain.photos import Photo
from inspect_core.domain.record import LedgerEntry, TreeHead
from inspect_core.ports import UnitOfWork
from inspect_core.usecases.account import complete
from inspect_core.usecases.acting import acting
from inspect_core.usecases.due_calendar import kept_file, rest_calendar
from inspect_core.usecases.new_store import OpenStore, close_for, filling, given_up, refuse_closed
from inspect_core.usecases.new_store import reopen as take_mark_away
from inspect_core.usecases.services import Services
from inspect_core.usecases.verify import Account, verify

Progress = Callable[[int, int, str], object]
_PAGE = 200
#: Photos on their way at once: each waits for a disk or a line, not for this program.
_AT_ONCE = 4


@dataclass(frozen=True, slots=True)
class Relocated:
    """What stands in the new place. `head` and `root`: as the old place had them. `key_taken`: the signing key lies in
    both places now. `calendar`: a calendar file that is rewritten no longer, until one is chosen again."""

    place: str
    entries: int
    photos: int
    head: str
    root: str | None
    key_taken: bool
    calendar: str | None
    account: Account

    def plain(self) -> dict[str, Any]:
        """As JSON data."""
        return {
            "place": self.place,
            "entries": self.entries,
            "photos": self.photos,
            "head": self.head,
            "root": self.root,
            "key_taken": self.key_taken,
            "calendar": self.calendar,
        }


def relocate(
    source: Services,
    target: str,
    by: str,
    open_store: OpenStore,
    *,
    new_key: bool = False,
    progress: Progress = lambda done, total, words: None,
) -> Relocated:
    """Bring everything in `source` to the empty place at `target` (a folder, or the address of a server) and close
    `source`. `source` must be opened with `closed`, since it gets its mark at the end.

    PINs go with it, sign-ins do not. The signing key goes with it too, unless `new_key`: the new place then makes its
    own with the next record, and the account says so. Raises NotAllowed, Conflict where the new place is not empty,
    StoreFault where it does not hold together afterwards; the old place is unchanged then.
    """
    with source.unit_of_work(write=True) as held:
        refuse_closed(held)
        acting(held, source, by, Action.RELOCATE)
        held.rows.hold()
        if held.jobs.active():
            raise Conflict(
                "Something is still being done here, or waits to be done: it would stay behind.",
                "Wait until it is ready, or stop it; then move.",
            )
        head, signed = held.ledger.head(), held.tree.newest_head()
        if head is None:
            raise Conflict("Nothing is recorded here yet.", "Open the new place and begin there.")
        if not _there_already(target, head, open_store):
            origin = held.ledger.numbered([1])[0].digest
            with filling(target, origin, open_store) as new:
                key_taken = _take_files(source, new.services, new_key)
                photos = _take_photos(held, source, new.services, progress)
                _take_rows(held, new.services, progress)
                account = _looked_through(new.services, head, signed, progress)
                place = new.services.place if "://" in target else str(Path(target).expanduser())
        else:
            services = open_store(target, closed=True)
            try:
                account, place = verify(services, progress=progress), services.place
            finally:
                services.close()
            key_taken, photos = not new_key, account.photos
        calendar = kept_file(held)
        close_for(held, place, source.today().isoformat())
        held.commit()
    return Relocated(
        place=place,
        entries=head.number,
        photos=photos,
        head=head.digest,
        root=signed.root.hex() if signed else None,
        key_taken=key_taken,
        calendar=str(calendar) if calendar else None,
        account=account,
    )


def reopen(services: Services, by: str) -> None:
    """Open a place again that was given up, as it was then. Raises Conflict where it was not."""
    with services.unit_of_work(write=True) as uow:
        acting(uow, services, by, Action.RELOCATE)
        if not take_mark_away(uow):
            raise Conflict("These records were not moved anywhere.", "Nothing has to be opened again.")
        uow.commit()


def _there_already(target: str, head: LedgerEntry, open_store: OpenStore) -> bool:
    """Whether an earlier run ended between finishing the new place and closing the old one. Folders need no look: one
    that is not empty is refused."""
    if "://" not in target:
        return False
    try:
        services = open_store(target)
    except StoreFault:  # unfinished, or not to be reached: `filling` says which
        return False
    try:
        with services.unit_of_work() as uow:
            if uow.ledger.head() != head:
                return False
            if given_up(uow):  # what was begun since, and is no record yet, would be lost without a word
                raise Conflict(
                    f"{services.place} was given up for another place, and the same records lie there.",
                    "Give an empty database. Or open that place again first with “bartack reopen”: unfinished "
                    "inspections and PINs are then as they were when it was given up.",
                )
            return True
    finally:
        services.close()


# What is taken ------------------------------------------------------------------------------------------------------


def _take_files(source: Services, target: Services, new_key: bool) -> bool:
    """The signing key and the settings file; whether a key was taken. Raises Conflict for a key of another store."""
    key_taken = False
    for name, own in source.own_files.items():
        theirs = target.own_files.get(name)
        key = name == "signing key"
        if theirs is None or (key and new_key):
            continue
        try:
            content = own.read_bytes()
        except FileNotFoundError:
            continue
        except OSError as fault:
            raise _unreadable(own, fault) from None
        _write_new(theirs, content, refuse_other=key)
        key_taken |= key
    return key_taken


def _write_new(path: Path, content: bytes, *, refuse_other: bool) -> None:
    try:
        path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
        if path.exists():
            if refuse_other and path.read_bytes() != content:
                raise Conflict(
                    f"{path} is the signing key of another store.",
                    "Give the address another folder, or ask for a new key with --new-key.",
                )
            return
        handle = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
        with os.fdopen(handle, "wb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
    except OSError as fault:
        raise _unreadable(path, fault) from None


def _unreadable(path: Path, fault: OSError) -> BadInput:
    reason = (fault.strerror or "unreadable").lower()
    return BadInput(f"{path} cannot be taken along: {reason}.", "Check who may read and write there.")


def _take_photos(held: UnitOfWork, source: Services, target: Services, progress: Progress) -> int:
    total = held.records.count("photo")
    done = 0
    waiting: deque[Future[None]] = deque()
    with ThreadPoolExecutor(_AT_ONCE) as pool:
        try:
            for photo in _photos(held):
                waiting.append(pool.submit(_take_photo, photo, source, target))
                if len(waiting) > 2 * _AT_ONCE:
                    waiting.popleft().result()
                    done += 1
                    progress(done, total, "photos")
            while waiting:
                waiting.popleft().result()
                done += 1
                progress(done, total, "photos")
        except BaseException:
            pool.shutdown(cancel_futures=True)
            raise
    return done


def _photos(uow: UnitOfWork) -> Iterator[Photo]:
    after: int | str | None = None
    while page := uow.records.page("photo", after=after, limit=_PAGE):
        after = page[-1].key
        yield from (one.record for one in page)


def _take_photo(photo: Photo, source: Services, target: Services) -> None:
    try:
        original = source.photos.original(photo.id)
    except BartackError as fault:
        raise StoreFault(
            f"Nothing was moved: photo {photo.id} is missing or damaged.",
            "Run “bartack verify”; it names the inspection.",
        ) from fault
    copies = {}
    for name in sorted({"preview", "thumb", *photo.copies}):
        try:
            copies[name] = source.photos.copy(photo.id, name)
        except NotFound:
            continue  # copies are made anew where they are missing
        if name in photo.copies and hashlib.sha256(copies[name]).hexdigest() != photo.copies[name]:
            raise StoreFault(
                f"Nothing was moved: the {name} copy of photo {photo.id} was changed.",
                "Run “bartack verify”; it names the inspection.",
            )
    target.photos.put(photo.id, original, copies)


def _take_rows(held: UnitOfWork, target: Services, progress: Progress) -> None:
    tables = held.rows.tables(secrets=True)

    def tell(done: int, words: str) -> None:
        progress(done, len(tables) + 2, words)

    with target.unit_of_work(write=True) as uow:
        uow.rows.hold()
        uow.rows.clear()
        for done, table in enumerate(tables, start=1):
            uow.rows.write(table, _told(held.rows.read(table), partial(tell, done, f"records: {table}")))
        uow.rows.work_out(partial(tell, len(tables) + 1, "words and counts"))
        rest_calendar(uow)  # two stores never rewrite one file
        complete(uow, partial(tell, len(tables) + 2, "tree"))
        uow.commit()


def _told(rows: Iterator[dict[str, Any]], tell: Callable[[], object]) -> Iterator[dict[str, Any]]:
    for number, row in enumerate(rows):
        if number % _PAGE == 0:
            tell()
        yield row


def _looked_through(target: Services, head: LedgerEntry, signed: TreeHead | None, progress: Progress) -> Account:
    account = verify(target, progress=progress)
    if account.faults:
        raise StoreFault(
            f"The records do not hold together in the new place: {account.faults[0].words}",
            "The old place is as it was. Run “bartack verify” there: a store with faults is not moved.",
        )
    if (account.head, account.entries, account.signed) != (head.digest, head.number, signed):
        raise StoreFault(
            "The new place ends elsewhere than the old one.", "The old place is as it was; work there, and try again."
        )
    return account
