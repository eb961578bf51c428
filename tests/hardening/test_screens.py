"""Nothing that a person typed works as Markdown, HTML, a formula or a link on any screen."""

from __future__ import annotations

import pytest

from inspect_core.screens.frame import plain
from inspect_core.screens.shell import SCREENS
from tests.hardening.hostile import ALL, WORKING, hostile_site, sent
from tests.screens.app import screen
from tests.usecases.site import Site

#: Fields that the browser shows as they are, letter by letter: choices of a list, what stands in a box, tables, the
#: picture's words for those who cannot see it, what a chart draws, addresses.
AS_THEY_ARE = {
    *(("selectbox", name) for name in ("options", "default", "raw_value", "set_value")),
    *(("multiselect", name) for name in ("options", "raw_values", "default")),
    *(("text_input", name) for name in ("value", "default")),
    *(("text_area", name) for name in ("value", "default")),
    ("imgs", "imgs.alt"),
}
PAGES = tuple(name for name, *_ in SCREENS)
QUERIES: dict[str, list[dict[str, str]]] = {
    "item": [
        *({"tag": f"LAN-00{number}"} for number in (1, 2, 3)),
        *({"tag": "LAN-001", "view": view} for view in ("compare", "readings", "papers", "moves")),
        {"tag": ALL[:60]},
    ],
    "answer": [{"inspection": "cut-1"}, {"inspection": ALL[:60]}],
    "search": [{}, {"text": "evil"}, {"text": ALL[:60]}],
    "kits": [{}, {"kit": "e" * 32}, {"kit": ALL[:60]}],
    "check": [{}, {"tag": "LAN-001"}, {"tag": ALL[:60]}],
    "inspect": [{}, {"tag": "LAN-001"}, {"corrects": "cut-1"}],
    "setup": [{}, {"check": "swing"}, {"tag": "LAN-002", "check": "kit"}, {"check": ALL[:60]}],
    "register": [{}, {"registered": "LAN-001"}, {"registered": ALL[:60]}],
    "import": [{}, {"imported": ALL[:60]}],
    "trends": [
        {},
        *({"ask": ask} for ask in ("why", "lasts", "where", "often", "agrees", "coming", "spent", ALL[:60])),
    ],
}
#: A page is told in another language after it was made, so a few are looked at in each.
for page in ("item", "search", "people", "kits", "answer"):
    known = QUERIES.setdefault(page, [{}])
    known += [{**known[0], "language": code} for code in ("fr", "es")]
#: One visit of those pages that show most in the quick run, all of them in the long one.
QUICK = [("item", {"tag": "LAN-001"}), ("answer", {"inspection": "cut-1"}), ("search", {"text": "evil"}), ("kits", {})]
QUICK += [("people", {}), ("today", {}), ("item", {"tag": "LAN-001", "language": "fr"})]
VISITS = [(page, query) for page in PAGES for query in QUERIES.get(page, [{}])]


def _named(visits: list[tuple[str, dict[str, str]]]) -> list[str]:
    return [f"{page} {list(query.values())}" for page, query in visits]


@pytest.fixture(scope="module")
def site(tmp_path_factory) -> Site:
    return hostile_site(tmp_path_factory.mktemp("hostile") / "store")


def _visited(site: Site, page: str, query: dict[str, str], *ids: str) -> None:
    with site.services.unit_of_work() as uow:
        people = [uow.people.get(id_) for id_ in ids]
    told = 0
    for person in people:
        app = screen(site.services, page, person, **query)
        assert not app.exception
        for kind, field, text in sent(app):
            told += "evil" in text
            if (kind, field) not in AS_THEY_ARE:
                found = WORKING.search(text)
                assert found is None, (kind, field, found, text[:300])
    if page in ("item", "people", "search", "kits") and not any(ALL[:60] in value for value in query.values()):
        assert told, "the page shows nothing of what was typed: the test looks at the wrong thing"


@pytest.mark.parametrize(("page", "query"), QUICK, ids=_named(QUICK))
def test_no_screen_lets_what_was_typed_work(site: Site, page: str, query: dict[str, str]) -> None:
    _visited(site, page, query, site.competent)


@pytest.mark.slow
@pytest.mark.parametrize(("page", "query"), VISITS, ids=_named(VISITS))
def test_no_screen_on_any_way_lets_what_was_typed_work(site: Site, page: str, query: dict[str, str]) -> None:
    _visited(site, page, query, site.manager, site.competent)


def test_the_search_for_working_text_finds_each_of_them() -> None:
    assert len(WORKING.findall(ALL)) >= 10
    assert WORKING.search(plain(ALL)) is None
