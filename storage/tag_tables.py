"""Tags that items carried before their register was corrected."""

from __future__ import annotations

import sqlalchemy as sa

from storage.tables import metadata

#: Tags that items carried before their register was corrected, so that an old label still leads to its item. Worked
#: out from the items' own column; what stands here alone counts for nothing.
former_tags = sa.Table(
    "former_tags",
    metadata,
    sa.Column("tag", sa.Text, primary_key=True),
    sa.Column("item_id", sa.Text, sa.ForeignKey("items.id"), nullable=False),
)
