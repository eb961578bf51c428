"""A site on which everything that a person can type is hostile, and everything that a screen sends to the browser."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

from google.protobuf.descriptor import FieldDescriptor
from google.protobuf.message import Message
from streamlit.testing.v1 import AppTest

from inspect_core.domain.custody import Move
from inspect_core.domain.decision import Outcome
from inspect_core.domain.gear import Component
from inspect_core.domain.inspection import InspectionType
from inspect_core.domain.kits import KitMove
from inspect_core.domain.people import Person, Role
from inspect_core.domain.second_reading import CANNOT_TELL
from inspect_core.usecases.custody import MakeMove, make_move
from inspect_core.usecases.inspect import Judgement
from inspect_core.usecases.kits import ChangeKit, change_kit
from inspect_core.usecases.register import add_person
from inspect_core.usecases.saved_searches import SaveSearch, save_search
from inspect_core.usecases.search import Query
from inspect_core.usecases.second_reading import RecordReading, record_second_reading
from inspect_core.usecases.setup import RecordSetup, record_setup
from tests.usecases.site import Site

#: What Streamlit's Markdown, a browser or a formula renderer would act on, were it not made harmless.
PICTURE = "![evil](http://evil.example/p.png)"
TAG = "<img src=x onerror=evil()>"
COLOUR = ":red[evil] $evil^2$ **evil**"
LINK = "[evil](javascript:evil())"
LINES = "evil\n\n# evil\n\n- evil\n    evil"
ICON = ":material/evil: <script>evil()</script>"
ALL = " ".join((PICTURE, TAG, COLOUR, LINK, ICON, "`evil` ~~evil~~ | evil | &lt;evil>", LINES))
#: What of them would work, were it seen as it was typed.
WORKING = re.compile(
    r"(?<!\\)(?:!\[evil\]\(|<img src=x|<script>evil|:red\[evil\]|\$evil\^2\$|\*\*evil\*\*|\[evil\]\(|:material/evil:|"
    r"`evil`|~~evil~~|\n# evil|\n- evil|https?://evil)"
)
SWING = {"check": "swing", "profile": "us construction", "units": "feet", "height": 35, "offset": 18, "clear": 40}


def hostile_site(folder: Path) -> Site:
    """Gear, inspections, moves, a kit, a set-up check, a second reading and saved searches, all named by an enemy."""
    site = Site(folder)
    services = site.services
    with services.unit_of_work() as uow:
        people = {person.id: person for person in uow.people.all()}
    for id_, name in zip(people, (PICTURE, TAG, COLOUR + " ", ICON), strict=False):
        add_person(replace(people[id_], name=name), services, by=site.manager if id_ != site.manager else None)
    add_person(Person("d" * 32, LINK, Role.WORKER), services, by=site.manager)
    marks = {"site": PICTURE, "maker": TAG, "model": COLOUR, "serial": ICON, "standards": LINK, "note": ALL}
    first = site.lanyard("LAN-001", **marks)
    second = site.lanyard("LAN-002", **(marks | {"serial": "2" + ICON}))
    third = site.lanyard("LAN-003", **(marks | {"serial": "3" + ICON, "site": LINES}))
    cut = site.cut(first, 3.0, inspection_id="cut-1", note=ALL, answer_notes={Component.WEBBING: ALL[:300]})
    site.record(replace(cut, marks=tuple(replace(mark, note=ALL[:300]) for mark in cut.marks)))
    make_move(MakeMove("hold-1", third.id, Move.HOLD, site.worker, ALL[:300]), services)
    site.record(
        site.check(
            third,
            "periodic-1",
            type=InspectionType.PERIODIC,
            by=site.competent,
            hand=Judgement(Outcome.HOLD, ALL[:900]),
            photo_ids=(site.photo(2),),
            note=ALL,
        )
    )
    kit = ChangeKit("kit-1", "e" * 32, KitMove.MAKE, site.manager, ICON[:60], item_ids=(second.id,), note=ALL[:300])
    change_kit(kit, services)
    change_kit(ChangeKit("kit-2", "e" * 32, KitMove.ISSUE, site.manager, holder=site.worker), services)
    record_setup(RecordSetup("f" * 32, SWING, site.worker, PICTURE, ("LAN-002",), ()), services)
    answer = RecordReading("second-1", site.photo(2), "periodic-1", site.second, CANNOT_TELL, ALL[:500])
    record_second_reading(answer, services)
    for number, name in enumerate((COLOUR, PICTURE)):
        query = Query("evil", sites=(PICTURE,), makers=(TAG,))
        save_search(SaveSearch(f"{number:032x}", name, query, site.manager, for_everybody=True), services)
    return site


def sent(app: AppTest) -> Iterator[tuple[str, str, str]]:
    """(kind of element, path of the field, text) of every text that the page sends to the browser."""

    def visit(node: Any) -> Iterator[tuple[str, str, str]]:
        proto = getattr(node, "proto", None)
        if isinstance(proto, Message):
            for path, text in _texts(proto, ""):
                yield node.type, path, text
        for child in getattr(node, "children", {}).values():
            yield from visit(child)

    yield from visit(app._tree)


def _texts(message: Message, path: str) -> Iterator[tuple[str, str]]:
    for field, value in message.ListFields():
        here = f"{path}.{field.name}".lstrip(".")
        for one in value if field.is_repeated else [value]:
            if field.type == FieldDescriptor.TYPE_STRING:
                yield here, str(one)
            elif isinstance(one, Message):
                yield from _texts(one, here)
