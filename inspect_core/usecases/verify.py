"""Looking through the whole account: every entry, every stored record, every photo, every signed head.

Entries are read by the page. What is kept in memory is one number for each thing whose record may be replaced (items,
where they stand, people, kits, settings); everything else is looked up when it is its turn.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import replace
from typing import Any

from inspect_core.domain.errors import BartackError
from inspect_core.domain.record import LedgerEntry, StoredRecord, TreeHead
from inspect_core.ledger import Chain, Frontier, canonical, content_of, leaf_hash
from inspect_core.ports import UnitOfWork
from inspect_core.usecases.recorded import EVENTS, KINDS, OWN_SETTINGS, PHOTO, Body, RecordKind
from inspect_core.usecases.services import Services
from inspect_core.usecases.verify_heads import Heads
from inspect_core.usecases.verify_photos import check_photos
from inspect_core.usecases.verify_report import Account, Fault, Findings, Names

__all__ = ["Account", "Fault", "verify"]

Progress = Callable[[int, int, str], object]
_PAGE = 500
_ONCE = tuple(kind for kind in KINDS if not kind.replaced)
_REPLACED = tuple(kind for kind in KINDS if kind.replaced)


def verify(
    services: Services,
    *,
    heads: Sequence[TreeHead] = (),
    progress: Progress = lambda done, total, words: None,
) -> Account:
    """Look through everything and tell what was changed, removed or inserted. Writes nothing.

    `heads` are signed heads that were kept elsewhere: they show an end that was cut off together with its heads.
    `progress` is called with steps done, steps in all, and words.
    """
    with services.unit_of_work() as uow:
        look = _Look(uow, Heads(uow, heads), progress)
        look.entries()
        look.replaced()
        look.inserted()
        photos = check_photos(uow, services.photos, look.found, look.names, look.photo_entries, look.step)
        look.heads.finish(look.frontier, look.found)
        return Account(
            entries=look.chain.number,
            photos=photos,
            head=look.chain.digest if look.chain.number else None,
            root=look.frontier.root().hex(),
            records=dict(look.compared),
            signed=look.heads.newest,
            faults=tuple(look.found.faults),
            notices=tuple(look.found.notices),
            more=look.found.more,
        )


class _Look:
    """One look through the store."""

    def __init__(self, uow: UnitOfWork, heads: Heads, progress: Progress) -> None:
        self.uow, self.heads, self.progress = uow, heads, progress
        self.found, self.names = Findings(), Names(uow)
        self.chain, self.frontier = Chain(), Frontier()
        self.compared: dict[str, int] = {kind.name: 0 for kind in KINDS}
        #: The last entry about each replaced record, by kind and id.
        self.latest: dict[str, dict[str, int]] = {kind.name: {} for kind in _REPLACED}
        #: The entry that describes a photo of a move or a set-up check; those of inspections are looked up.
        self.photo_entries: dict[str, int] = {}
        head = uow.ledger.head()
        self.done, self.total = 0, head.number if head else 0
        self.total += uow.records.count("photo") + sum(uow.records.count(kind.kept_as) for kind in _REPLACED)

    def step(self, words: str, steps: int = 1) -> None:
        self.done += steps
        self.progress(min(self.done, self.total), self.total, words)

    # Entries and the records they wrote ---------------------------------------------------------------------------

    def entries(self) -> None:
        """The chain, the tree, the signed heads; and every record that is written once against its entry."""
        unkept = 0
        while page := self._page():
            kept = self.uow.tree.nodes([entry.number for entry in page])
            for entry in page:
                content = canonical(content_of(entry))
                for words in self.chain.faults(entry, content):
                    self.found.add(self._about_entry(entry, words))
                nodes = self.frontier.add(leaf_hash(content))
                unkept += entry.number not in kept
                if kept.get(entry.number, nodes) != nodes:
                    words = f"The tree kept beside the ledger says otherwise than entry {entry.number}."
                    self.found.add(self._about_entry(entry, words, "tree"))
                self.heads.at(self.frontier, self.found)
                self._note(entry)
                self.heads.note(entry)
            self._compare(page)
            self.step("entries", len(page))
            if page[-1].number < self.chain.number or len(page) < _PAGE:
                break
        if unkept:
            self.found.notices.append(f"{unkept} entries stand in no tree yet; the next record adds them.")

    def _page(self) -> tuple[LedgerEntry, ...]:
        """The next entries; where one of them cannot be read, those before it, or else those after it."""
        after = self.chain.number
        try:
            return self.uow.ledger.entries(after=after, limit=_PAGE)
        except (ValueError, TypeError, BartackError):
            pass
        readable: list[LedgerEntry] = []
        while True:
            try:
                page = self.uow.ledger.entries(after=after, limit=1)
            except (ValueError, TypeError, BartackError):
                after += 1
                if not readable:
                    self.found.add(Fault("chain", f"Entry {after} cannot be read.", entry=after))
                    continue
                return tuple(readable)
            if not page or len(readable) == _PAGE:
                return tuple(readable)
            readable += page
            after = page[0].number

    def _note(self, entry: LedgerEntry) -> None:
        for kind in _REPLACED:
            for record_id, _ in kind.parts(entry):
                self.latest[kind.name][record_id] = entry.number
        if entry.subject != "inspection":
            for photo_id, _ in PHOTO.parts(entry):
                self.photo_entries[photo_id] = entry.number

    def _compare(self, page: Iterable[LedgerEntry]) -> None:
        """The records that these entries wrote for good, against those stored."""
        for kind in _ONCE:
            written = [(entry, *part) for entry in page for part in kind.parts(entry)]
            stored = self.uow.records.by_id(kind.kept_as, [record_id for _, record_id, _ in written])
            for entry, record_id, body in written:
                if record_id in stored:
                    self.compared[kind.name] += 1
                self._match(kind, record_id, body, stored.get(record_id), entry.number)
        wanted = {str(photo) for entry in page for photo in _photos_named(entry)}
        for photo_id in sorted(wanted - self.uow.records.known("photo", sorted(wanted))):
            words = f"The row of photo {photo_id} is missing from the store."
            self.found.add(Fault("removed", words, "photo", photo_id))

    def _match(self, kind: RecordKind, record_id: str, body: Body, stored: StoredRecord | None, entry: int) -> None:
        if stored is None:
            tag, day = self.names.of(kind.name, body)
            what = self.names.words(kind.name, record_id, tag, day)
            words = f"The {what}, entry {entry}, is missing from the store."
            self.found.add(Fault("removed", words, kind.name, record_id, tag, day, entry))
            return
        now = kind.now(stored.record, body) if stored.record is not None else None
        changed = [*(_differing(body, now) if now is not None else ()), *stored.odd]
        if changed:
            tag, day = self.names.of(kind.name, body)
            what = self.names.words(kind.name, record_id, tag, day)
            fields = ", ".join(dict.fromkeys(changed))
            words = f"The {what} was changed in the store: {fields} differ from entry {entry}."
            self.found.add(Fault("changed", words, kind.name, record_id, tag, day, entry))

    # Stored records that may be replaced --------------------------------------------------------------------------

    def replaced(self) -> None:
        """Items, where they stand, people, kits and settings against the last entry about each."""
        for kind in _REPLACED:
            latest, seen = self.latest[kind.name], set[str]()
            after: int | str | None = None
            while page := self.uow.records.page(kind.kept_as, after=after, limit=_PAGE):
                after = page[-1].key
                written = self._written(kind, [latest[one.id] for one in page if one.id in latest])
                for one in page:
                    seen.add(one.id)
                    self._match_replaced(kind, one, written.get((latest.get(one.id, 0), one.id)))
                self.compared[kind.name] += sum(one.id not in OWN_SETTINGS for one in page)
                self.step(f"{kind.name} records", len(page))
            for record_id, number in latest.items():
                if record_id not in seen:
                    body = self._written(kind, [number])[number, record_id]
                    self._match(kind, record_id, body, None, number)

    def _match_replaced(self, kind: RecordKind, one: StoredRecord, body: Body | None) -> None:
        if body is not None:
            # An item's row is looked at twice; what is wrong with it by itself is told once.
            once = replace(one, odd=()) if kind.name == "standing" and one.record is not None else one
            self._match(kind, one.id, body, once, self.latest[kind.name][one.id])
        elif kind.name != "standing" and one.id not in OWN_SETTINGS:
            self._inserted(kind, one)

    def _written(self, kind: RecordKind, numbers: Iterable[int]) -> dict[tuple[int, str], Body]:
        found: dict[tuple[int, str], Body] = {}
        for entry in self.uow.ledger.numbered(sorted(set(numbers))):
            for record_id, body in kind.parts(entry):
                found[entry.number, record_id] = body
        return found

    # Stored records without an entry ------------------------------------------------------------------------------

    def inserted(self) -> None:
        """Records that no entry wrote. Counting is enough where nothing is wrong; else every one is asked for."""
        for kind in _ONCE:
            if self.uow.records.count(kind.kept_as) == self.compared[kind.name]:
                continue
            after: int | str | None = None
            while page := self.uow.records.page(kind.kept_as, after=after, limit=_PAGE):
                after = page[-1].key
                for one in page:
                    if not self._is_written(kind, one):
                        self._inserted(kind, one)

    def _is_written(self, kind: RecordKind, one: StoredRecord) -> bool:
        return one.record is not None and any(
            record_id == one.id
            for subject, subject_id in kind.written_by(one.record)
            for entry in self.uow.ledger.of_subject(subject, subject_id)
            for record_id, _ in kind.parts(entry)
        )

    def _inserted(self, kind: RecordKind, one: StoredRecord) -> None:
        body = kind.now(one.record, {}) if one.record is not None else {}
        tag, day = self.names.of(kind.name, body)
        what = self.names.words(kind.name, one.id, tag, day)
        words = f"The {what} stands in the store, but no entry wrote it."
        self.found.add(Fault("inserted", words, kind.name, one.id, tag, day))

    def _about_entry(self, entry: LedgerEntry, words: str, harm: str = "chain") -> Fault:
        for kind in KINDS:
            for record_id, body in kind.parts(entry):
                if kind.name == "standing":
                    continue
                tag, day = self.names.of(kind.name, body)
                what = self.names.words(kind.name, record_id, tag, day)
                return Fault(harm, f"{words} It is about the {what}.", kind.name, record_id, tag, day, entry.number)
        record = entry.subject if entry.subject in EVENTS else ""
        return Fault(harm, words, record, entry.subject_id, entry=entry.number)


def _photos_named(entry: LedgerEntry) -> Iterable[str]:
    yield from entry.body.get("photos") or ()
    for key in ("inspection", "custody"):
        record = entry.body.get(key)
        if isinstance(record, Mapping):
            yield from record.get("photos") or ()
            if record.get("photo"):
                yield record["photo"]


def _differing(written: Body, now: Body) -> list[str]:
    """The fields that differ, as the ledger names them."""
    if canonical(dict(written)) == canonical(dict(now)):
        return []
    missing = object()

    def same(key: str) -> bool:
        a, b = written.get(key, missing), now.get(key, missing)
        if a is missing or b is missing:
            return a is b
        return canonical(_plain(a)) == canonical(_plain(b))

    return [key for key in sorted({*written, *now}) if not same(key)] or ["its form"]


def _plain(value: Any) -> Any:
    return dict(value) if isinstance(value, Mapping) else value
