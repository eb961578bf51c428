"""What a look through the whole account found, in words and as plain data."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from inspect_core.domain.record import TreeHead
from inspect_core.ledger import fingerprint, head_plain
from inspect_core.ports import UnitOfWork

#: Faults told one by one; what lies beyond is counted.
MOST_FAULTS = 500
_MOST_TAGS = 2000


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing that is wrong. `harm`: what happened to it, as a word that programs can rely on; `record`: the kind of
    record; `tag` and `day` tell people which one; `entry`: the ledger entry that says otherwise."""

    harm: str
    words: str
    record: str = ""
    id: str = ""
    tag: str | None = None
    day: str | None = None
    entry: int | None = None

    def plain(self) -> dict[str, Any]:
        """As JSON data."""
        return {
            "harm": self.harm,
            "record": self.record or None,
            "id": self.id or None,
            "tag": self.tag,
            "day": self.day,
            "entry": self.entry,
            "words": self.words,
        }


@dataclass(frozen=True, slots=True)
class Account:
    """What a look through the whole account found; no faults means that it is whole.

    `head`: the last entry's digest. `records`: how many of each kind were compared. `signed`: the newest signed head.
    `notices`: what a reader should know although it is no fault. `more`: faults beyond those that are told.
    """

    entries: int
    photos: int
    head: str | None
    root: str
    records: Mapping[str, int]
    signed: TreeHead | None
    faults: tuple[Fault, ...]
    notices: tuple[str, ...] = ()
    more: int = 0

    def plain(self) -> dict[str, Any]:
        """As JSON data."""
        return {
            "entries": self.entries,
            "photos": self.photos,
            "head": self.head,
            "root": self.root,
            "records": dict(self.records),
            "signed": head_plain(self.signed) if self.signed else None,
            "key": fingerprint(self.signed.public_key) if self.signed else None,
            "faults": [fault.words for fault in self.faults],
            "found": [fault.plain() for fault in self.faults],
            "more_faults": self.more,
            "notices": list(self.notices),
        }


@dataclass
class Findings:
    """Collects faults, not more of them than anybody reads."""

    faults: list[Fault] = field(default_factory=list)
    notices: list[str] = field(default_factory=list)
    more: int = 0

    def add(self, fault: Fault) -> None:
        if len(self.faults) < MOST_FAULTS:
            self.faults.append(fault)
        else:
            self.more += 1


class Names:
    """Tells records as people know them: by the item's tag and the day."""

    def __init__(self, uow: UnitOfWork) -> None:
        self._uow = uow
        self._tags: OrderedDict[str, str | None] = OrderedDict()

    def tag(self, item_id: str | None) -> str | None:
        """The tag that the ledger gives for an item; a row may have been changed."""
        if not item_id:
            return None
        if item_id not in self._tags:
            self._tags[item_id] = self._looked_up(item_id)
            if len(self._tags) > _MOST_TAGS:
                self._tags.popitem(last=False)
        return self._tags[item_id]

    def _looked_up(self, item_id: str) -> str | None:
        for entry in self._uow.ledger.of_subject("item", item_id):
            item = entry.body.get("item")
            if isinstance(item, Mapping):
                return str(item.get("tag"))
        stored = self._uow.records.by_id("item", [item_id]).get(item_id)
        return stored.record.item.tag if stored and stored.record is not None else None

    def of(self, kind: str, body: Mapping[str, Any]) -> tuple[str | None, str | None]:
        """(tag, day) of a record, given as the ledger writes it."""
        day = next((str(body[key])[:10] for key in ("at", "since", "registered_on") if body.get(key)), None)
        if kind == "item":
            return str(body.get("tag")), day
        items = body.get("items") or ()
        item_id = body.get("item") or (items[0] if items else None)
        if item_id is None and body.get("inspection"):
            entry = next(iter(self._uow.ledger.of_subject("inspection", str(body["inspection"]))), None)
            item_id = entry.body.get("inspection", {}).get("item") if entry else None
        return self.tag(item_id), day

    def words(self, kind: str, record_id: str, tag: str | None, day: str | None) -> str:
        """“inspection of LAN-001 on 2026-03-02 (1f3a9c20…)”."""
        of = f" of {tag}" if tag and kind != "item" else f" {tag}" if tag else ""
        since = " since " if kind == "standing" else " registered on " if kind == "item" else " on "
        return f"{kind}{of}{since + day if day else ''} ({record_id})"
