"""Tags that items carried before: kept beside the item's own column, so that an old label is found at once."""

from __future__ import annotations

import sqlalchemy as sa

from inspect_core.domain.errors import Conflict
from inspect_core.domain.gear import Item
from storage import mapping
from storage.prepared import Prepared
from storage.tables import items
from storage.tag_tables import former_tags
from storage.work import Work

_ONCE_TAGGED = Prepared(
    sa.select(items)
    .join(former_tags, former_tags.c.item_id == items.c.id)
    .where(former_tags.c.tag == sa.bindparam("tag"))
)


def find_old_tag(work: Work, tag: str) -> Item | None:
    """The item that carried the tag before. What its own column does not say counts for nothing."""
    row = work.first(_ONCE_TAGGED, {"tag": tag})
    item = mapping.item_of(row) if row else None
    return item if item is not None and tag in item.former_tags else None


def keep_old_tags(work: Work, item: Item, clash: Conflict) -> None:
    """Makes the item's old labels lead to it. Raises `clash` where one was another item's."""
    if not item.former_tags:
        return
    about = former_tags.c.tag.in_(item.former_tags)
    known = {row.tag: row.item_id for row in work.rows(sa.select(former_tags).where(about))}
    for tag in item.former_tags:
        if known.get(tag, item.id) != item.id:
            raise clash
        if tag not in known:
            work.insert(former_tags, {"tag": tag, "item_id": item.id})
