"""Pages drawn anew, as after a click that changes nothing, against a bare Streamlit page with as many elements.

Streamlit's own part is told apart by drawing, beside ours, a page of the same elements with constant words: as many of
each sort, in as many containers and folds, on one of as many pages. What ours takes beyond it is its own time: reading,
deciding what to show, and making words. Both run as `AppTest` runs them, without a browser. Every photo is one and the
same small JPEG out of memory.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping
from functools import cache
from typing import Any

import cv2
import numpy as np
from streamlit.testing.v1 import AppTest

from inspect_core.bootstrap import SystemClock
from inspect_core.domain.people import Person, Role
from inspect_core.ledger import next_entry
from inspect_core.rules.loader import load_rules
from inspect_core.usecases.services import Services
from storage.unit_of_work import unit_of_work_factory
from tests.bench.registry import Job, bench, sizes
from tests.bench.store_of_size import store_of
from tests.screens.app import screen
from tests.storage import made

_PERSON = Person("p1", "Person 1", Role.COMPETENT_PERSON)


class OnePicture:
    """Fulfils PhotoStore: every photo is the same."""

    def __init__(self) -> None:
        self._jpeg = bytes(cv2.imencode(".jpg", np.full((300, 400, 3), 140, np.uint8))[1])

    def put(self, photo_id: str, original: bytes, copies: Mapping[str, bytes]) -> bool:
        return False

    def original(self, photo_id: str) -> bytes:
        return self._jpeg

    def copy(self, photo_id: str, name: str) -> bytes:
        return self._jpeg

    def has(self, photo_id: str) -> bool:
        return True

    def ids(self) -> Iterator[str]:
        return iter(())


@cache
def services_of(size: int) -> Services:
    """Over the store of that size, with those who signed in it and one entry in the account."""
    units = unit_of_work_factory(store_of(size).engine)
    with units(write=True) as unit:
        known = {person.id for person in unit.people.all()}
        if "manager" not in known:
            unit.people.add(Person("manager", "Manager 1", Role.MANAGER))
        for number in range(30):
            if f"p{number}" not in known:
                unit.people.add(Person(f"p{number}", f"Person {number}", Role.COMPETENT_PERSON))
        if unit.ledger.head() is None:
            unit.ledger.add(next_entry(None, made.NOW, "inspection", "inspection-1", {"id": "inspection-1"}))
        unit.commit()
    return Services(units, OnePicture(), SystemClock(), load_rules(), f"pages {size}")


def _bare(parts, picture):  # type: ignore[no-untyped-def]  # its source is run by itself
    import streamlit as st

    def page() -> None:
        boxes = [st.container() for _ in range(parts.get("containers", 0))]
        boxes += [st.expander("Fold") for _ in range(parts.get("folds", 0))]
        draws = {
            "title": lambda n: st.title("Some words"),
            "subheader": lambda n: st.subheader("Some words"),
            "caption": lambda n: st.caption("Some words of a line"),
            "divider": lambda n: st.divider(),
            "html": lambda n: st.html("<p>Some words</p>"),
            "image": lambda n: st.image(picture, width="stretch"),
            "page_link": lambda n: st.page_link(one, label="Some words", query_params={"n": str(n)}),
            "button": lambda n: st.button("Press", key=f"button {n}"),
            "button_group": lambda n: st.pills("Choose", ["one", "two", "three"], key=f"pills {n}"),
            "text_input": lambda n: st.text_input("Type", key=f"text {n}"),
            "text_area": lambda n: st.text_area("Type", key=f"area {n}"),
            "selectbox": lambda n: st.selectbox("Pick", ["one", "two"], key=f"pick {n}"),
            "multiselect": lambda n: st.multiselect("Pick some", ["one", "two"], key=f"some {n}"),
            "download_button": lambda n: st.download_button("Take", b"x", key=f"take {n}", on_click="ignore"),
            "date_input": lambda n: st.date_input("Day", value=None, key=f"day {n}"),
            "number_input": lambda n: st.number_input("Number", value=None, key=f"number {n}"),
            "file_uploader": lambda n: st.file_uploader("File", key=f"file {n}"),
            "dataframe": lambda n: st.dataframe([{"a": 1, "b": 2}] * 4),
            "alert": lambda n: st.info("Some words"),
        }
        place = 0
        for kind, many in parts.items():
            draw = draws.get(kind, lambda n: st.markdown("**Some** words, as many as a line has"))
            for _ in range(0 if kind in ("containers", "folds") else many):
                with boxes[place % len(boxes)] if boxes else st.container():
                    draw(place)
                place += 1

    st.set_page_config(page_title="Bare", layout="wide")
    one = st.Page(page, title="Page", url_path="page", default=True)
    others = [st.Page(lambda: None, title=f"Page {n}", url_path=f"page-{n}") for n in range(16)]
    st.navigation([one, *others], position="top").run()


def counted(app: AppTest) -> dict[str, int]:
    """How many elements of each sort a drawn page has, with its containers and folds."""
    many: Counter[str] = Counter()

    def walk(node: Any) -> None:
        for child in node.children.values():
            if hasattr(child, "children"):
                many["folds" if child.type in ("expander", "expandable") else "containers"] += 1
                walk(child)
            else:
                many[child.type] += 1

    walk(app._tree)
    return dict(many)


def _page(size: int, name: str, **query: str) -> Job:
    services = services_of(size)
    app = screen(services, name, _PERSON, **query)
    if app.exception or app.error:
        raise AssertionError(f"the page cannot be drawn: {[e.value for e in (*app.exception, *app.error)]}")
    parts = counted(app)
    picture = services.photos.copy("", "thumb")
    bare = AppTest.from_function(_bare, args=(dict(parts), picture), default_timeout=30).run()
    if bare.exception:
        raise AssertionError(f"the bare page cannot be drawn: {[e.value for e in bare.exception]}")
    return Job(
        app.run,
        bare.run,
        rounds=25,
        target_own_ms=30.0 if name == "item" else None,
        note=f"{sum(parts.values())} elements",
    )


def _declare(size: int) -> None:
    bench(f"page of {size:,}: an item's history, drawn anew")(lambda: _page(size, "item", tag="RIG-3"))
    bench(f"page of {size:,}: today, drawn anew")(lambda: _page(size, "today"))
    bench(f"page of {size:,}: check before use, drawn anew")(lambda: _page(size, "check", tag="RIG-3"))
    bench(f"page of {size:,}: search, drawn anew")(lambda: _page(size, "search"))


for _size in sizes():
    _declare(_size)
