"""A store's records as Parquet, item by item, so that a store of any size takes the same memory."""

from __future__ import annotations

import hashlib
import json
from collections import Counter, OrderedDict
from collections.abc import Callable, Iterator
from datetime import UTC
from pathlib import Path
from typing import Any
from urllib.parse import quote

from inspect_core.domain.custody import State
from inspect_core.domain.gear import model_label
from inspect_core.domain.inspection import Inspection
from inspect_core.domain.record import ItemRow
from inspect_core.ledger import head_plain
from inspect_core.ports import UnitOfWork
from inspect_core.usecases.fleet.form import (
    ABOUT,
    BLIND_LOOKS,
    FORMAT,
    INSPECTIONS,
    ITEMS,
    PHOTO_USES,
    WITHDRAWALS,
    facts_in,
    marks_in,
    schemas,
)
from inspect_core.usecases.reevaluate import past_of

Progress = Callable[[int, int, str], object]
Row = dict[str, Any]
#: So many rows wait in memory, whichever file they are for; the fullest is written then.
_MOST_WAITING = 20_000
#: So long may a site be in the name of its folder: “site=” stands before it, and most disks take 255 bytes.
_MOST_LETTERS = 240
#: So many files are open at once; one that is needed again later goes on in a new part.
_MOST_OPEN = 200
_PAGE = 500
_LIVE = (State.IN_SERVICE, State.ON_HOLD)


def write_parquet(folder: Path, uow: UnitOfWork, rules_digest: str, counts: Counter[str], progress: Progress) -> None:
    """Every table into that folder. `counts` is filled with how many rows each has."""
    total, done = uow.records.count("inspection"), 0
    with _Files(folder) as files:
        for row in _items(uow):
            files.add(ITEMS, ITEMS, _item(row))
            counts["items"] += 1
            for place, inspection in _inspections(row, uow.inspections.of_item(row.item.id)):
                files.add(INSPECTIONS, place, inspection)
                counts["inspections"] += 1
                done += 1
                if done % _PAGE == 0:
                    progress(done, total, "inspections")
        for name, rows in _small(uow).items():
            for small in rows:
                files.add(name, name, small)
                counts[name.removesuffix(".parquet")] += 1
    first, head, signed = uow.ledger.numbered([1]), uow.ledger.head(), uow.tree.newest_head()
    about = {
        "format": FORMAT,
        "store": first[0].digest if first else "",
        "entries": head.number if head else 0,
        "head": head.digest if head else "",
        "signed": head_plain(signed) if signed else None,
        "schema": uow.rows.schema(),
        "rules": rules_digest,
        "rows": dict(sorted(counts.items())),
    }
    (folder / ABOUT).write_text(json.dumps(about, indent=1) + "\n", encoding="utf-8")


class _Files:
    """Rows on their way into Parquet files, each file's own in the order in which they came."""

    def __init__(self, folder: Path) -> None:
        self._folder, self._schemas = folder, schemas()
        self._waiting: dict[str, list[Row]] = {}
        self._many = 0
        self._of: dict[str, str] = {}
        self._open: OrderedDict[str, Any] = OrderedDict()
        self._parts: Counter[str] = Counter()

    def __enter__(self) -> _Files:
        return self

    def __exit__(self, kind: object, error: object, trace: object) -> None:
        try:
            if error is None:
                for place in list(self._waiting):
                    self._write(place)
                for name in self._schemas:
                    if name != INSPECTIONS and name not in self._parts:
                        self._write(name, name)
        finally:
            while self._open:
                self._open.popitem()[1].close()

    def add(self, name: str, place: str, row: Row) -> None:
        self._of[place] = name
        self._waiting.setdefault(place, []).append(row)
        self._many += 1
        if self._many >= _MOST_WAITING:
            self._write(max(self._waiting, key=lambda one: len(self._waiting[one])))

    def _write(self, place: str, name: str | None = None) -> None:
        import pyarrow as pa

        rows = self._waiting.pop(place, [])
        self._many -= len(rows)
        writer = self._writer(place, name or self._of[place])
        writer.write_table(pa.Table.from_pylist(rows, schema=writer.schema))

    def _writer(self, place: str, name: str) -> Any:
        import pyarrow.parquet as pq

        if place in self._open:
            self._open.move_to_end(place)
            return self._open[place]
        while len(self._open) >= _MOST_OPEN:
            self._open.popitem(last=False)[1].close()
        path = self._folder / place
        if name == INSPECTIONS:
            path /= f"part-{self._parts[place]:05}.parquet"
        elif self._parts[place]:
            path = path.with_name(f"{path.stem}-{self._parts[place]:05}.parquet")
        self._parts[place] += 1
        path.parent.mkdir(parents=True, exist_ok=True)
        self._open[place] = pq.ParquetWriter(path, self._schemas[name], compression="zstd")
        return self._open[place]


def _items(uow: UnitOfWork) -> Iterator[ItemRow]:
    after: int | str | None = None
    while page := uow.records.page("item", after=after, limit=_PAGE):
        after = page[-1].key
        yield from (one.record for one in page)


def _item(row: ItemRow) -> Row:
    item, standing = row.item, row.standing
    own = ("id", "tag", "site", "maker", "model", "note", "made_on", "first_used_on", "registered_on", "price")
    return {
        **{name: getattr(item, name) for name in own},
        "kind": item.kind.value,
        "maker_max_age_years": item.maker_max_age_years,
        "state": standing.state.value,
        "next_due": standing.next_due,
        "damage_used": standing.damage_used,
        "last_inspection": standing.last_inspection_id,
    }


def _inspections(row: ItemRow, inspections: tuple[Inspection, ...]) -> Iterator[tuple[str, Row]]:
    """(folder, row) of each inspection of an item, oldest first, with what was known on its day."""
    item, standing = row.item, row.standing
    known = {id_: case.facts for id_, case, _, _ in past_of(item, inspections)}
    worn = standing.state in _LIVE and (standing.damage_used or 0) > 0
    label = model_label(item.maker, item.model)
    for one in sorted(inspections, key=lambda inspection: (inspection.at, inspection.id)):
        day = one.at.date()
        yield (
            f"{INSPECTIONS}/site={_folder_name(one.site)}/year={day.year}",
            {
                "id": one.id,
                "item": item.id,
                "tag": item.tag,
                "kind": item.kind.value,
                "model": label,
                "at": one.at.astimezone(UTC),
                "day": day,
                "by": one.by,
                "type": one.type.value,
                "site": one.site,
                "profile": one.profile,
                "outcome": one.outcome.value,
                "rules_outcome": one.decision.outcome.value,
                "damage_used": one.decision.damage_used,
                "rules_version": one.decision.rules.version,
                "rules_digest": one.decision.rules.digest,
                "corrected": one.id not in known,
                "worn": worn,
                "answers": [{"component": part.value, "answer": answer.value} for part, answer in one.answers.items()],
                "facts": facts_in(known.get(one.id, {})),
                "marks": marks_in(one.marks),
                "findings": [_finding(finding) for finding in one.decision.findings],
            },
        )


def _finding(finding: Any) -> Row:
    plain = ("rule", "mark", "measure", "value", "uncertainty", "limit", "unit")
    return {
        **{name: getattr(finding, name) for name in plain},
        "outcome": finding.outcome.value,
        "component": finding.component.value if finding.component else None,
    }


def _small(uow: UnitOfWork) -> dict[str, Iterator[Row]]:
    """What the store counts by itself, of which there is little."""
    return {
        WITHDRAWALS: (
            {
                "item": one.item_id,
                "tag": one.tag,
                "kind": one.kind.value,
                "maker": one.maker,
                "model": one.model,
                "site": one.site,
                "day": one.on,
                "first_day": one.first_day,
                "price": one.price,
                "reasons": [
                    {
                        "category": category.value if category else None,
                        "component": component.value if component else None,
                        "rule": rule,
                    }
                    for category, component, rule in one.reasons
                ],
            }
            for one in uow.reviews.retirements()
        ),
        BLIND_LOOKS: (
            {
                "photo": one.photo_id,
                "inspection": one.inspection_id,
                "item": one.item_id,
                "tag": one.tag,
                "kind": one.kind.value,
                "day": one.on,
                "first_by": one.first_by,
                "first": one.first,
                "second_by": one.second_by,
                "second": one.second,
            }
            for one in uow.second_readings.all()
        ),
        PHOTO_USES: _photo_uses(uow),
    }


def _photo_uses(uow: UnitOfWork) -> Iterator[Row]:
    for use in uow.reviews.shared_photos():
        item = uow.items.get(use.item_id)
        site = uow.inspections.get(use.inspection_id).site
        yield {
            "photo": use.photo_id,
            "inspection": use.inspection_id,
            "item": use.item_id,
            "tag": use.tag,
            "kind": item.kind.value,
            "site": site,
            "model": model_label(item.maker, item.model),
            "day": use.on,
            "by": use.by,
        }


def _folder_name(site: str) -> str:
    """A site as the value in a folder's name, which may be 255 bytes long; a longer one is cut, and what tells it from
    others stands behind. Every row names the site whole."""
    name = quote(site, safe="") or "__none__"
    if len(name) <= _MOST_LETTERS:
        return name
    kept = ""
    for letter in site:  # an escape is never cut in two
        if len(kept + quote(letter, safe="")) > _MOST_LETTERS - 17:
            break
        kept += quote(letter, safe="")
    return f"{kept}-{hashlib.sha256(site.encode()).hexdigest()[:16]}"
