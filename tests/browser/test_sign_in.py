"""Signing in by phone and at a desk: a wrong PIN, the right one, a signed inspection, a kit that must be fetched."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from inspect_core.domain.custody import State
from inspect_core.domain.inspection import InspectionType
from inspect_core.domain.kits import KitMove
from inspect_core.screens.work.body import empty
from inspect_core.usecases import review
from inspect_core.usecases.drafts import save_draft
from inspect_core.usecases.kits import ChangeKit, change_kit
from tests.browser.conftest import OpenPage, StartApp
from tests.browser.job_hands import APP, open_screen, press, settled
from tests.usecases.locked import PINS, LockedSite


@pytest.fixture
def site(tmp_path: Path) -> LockedSite:
    """A locked site by the machine's own clock, with two lanyards in a kit that a worker has."""
    site = LockedSite(tmp_path / "store", real_time=True)
    ids = tuple(site.lanyard_by("competent", tag).id for tag in ("LAN-001", "LAN-002"))
    manager = site.signed_in("manager")
    change_kit(ChangeKit("e1", "k" * 32, KitMove.MAKE, site.manager, name="Roof 1", item_ids=ids), manager)
    change_kit(ChangeKit("e2", "k" * 32, KitMove.ISSUE, site.manager, holder=site.worker), manager)
    return site


def serve(start_app: StartApp, site: LockedSite) -> str:
    return start_app(APP, {"BARTACK_STORE": str(site.folder)})


def sign_in(page: Any, name: str, pin: str) -> None:
    press(page, "combobox", "Your name", exact=False)
    press(page, "option", name)
    enter_pin(page, pin)
    press(page, "button", "Sign in")


def enter_pin(page: Any, pin: str) -> None:
    box = page.locator('input[type="password"]').first
    box.fill(pin)
    box.blur()
    settled(page)


def test_a_worker_signs_in_by_phone_and_reports_a_fall(start_app: StartApp, phone: OpenPage, site: LockedSite) -> None:
    url = serve(start_app, site)
    page = phone()
    open_screen(page, url, "sign-in")
    press(page, "combobox", "Your name", exact=False)
    press(page, "option", "Worker, worker")
    box = page.locator('input[type="password"]').first
    box.wait_for()
    page.wait_for_function("() => document.querySelector('input[type=password]').inputMode === 'numeric'")
    enter_pin(page, "739164")
    press(page, "button", "Sign in")
    page.get_by_text("The name or the PIN is not right.").wait_for()
    enter_pin(page, PINS["worker"])
    press(page, "button", "Sign in")
    page.get_by_text("Signed in as Worker").wait_for()
    assert PINS["worker"] not in page.url and "token" not in page.url
    open_in_session(page, "Go to Today")
    page.get_by_role("button", name="Sign out Worker").wait_for()
    page.evaluate("() => window.scrollTo(0, 0)")


def open_in_session(page: Any, link: str) -> None:
    """A way inside the program: a fresh address would begin a fresh session."""
    page.get_by_role("link", name=link).first.click()
    settled(page)


def test_a_competent_person_signs_an_inspection_at_a_desk(
    start_app: StartApp, desk: OpenPage, site: LockedSite
) -> None:
    item = review.item_by_tag("LAN-001", site.services).item
    draft = "d" * 32
    body = empty(InspectionType.PERIODIC)
    body |= {"answers": {part.value: a.value for part, a in site.sound(item).items()}, "step": 3}
    save_draft(draft, item.id, body, site.signed_in("competent"))
    page = desk()
    open_screen(page, serve(start_app, site), f"inspect?tag=LAN-001&draft={draft}")
    sign_in(page, "Competent, competent person", PINS["competent"])
    page.get_by_role("button", name="Sign and record it").wait_for()
    enter_pin(page, PINS["competent"])
    press(page, "button", "Sign and record it")
    page.wait_for_url("**/answer**")
    (made,) = review.history(item.id, site.services).inspections
    assert made.signature is not None and made.signature.by == site.competent
    assert PINS["competent"] not in page.url


def test_a_fall_reported_on_the_kits_page_holds_all_of_it_and_tells_whom_to_fetch_it_from(
    start_app: StartApp, desk: OpenPage, site: LockedSite
) -> None:
    page = desk()
    open_screen(page, serve(start_app, site), f"kits?kit={'k' * 32}")
    sign_in(page, "Second, competent person", PINS["second"])
    page.get_by_text("A fall was arrested").first.click()
    settled(page)
    press(page, "button", "Put all of it on hold")
    page.get_by_text("Not to be worn.").first.wait_for()
    assert page.get_by_text("fetch it").first.is_visible()
    for tag in ("LAN-001", "LAN-002"):
        assert review.item_by_tag(tag, site.services).standing.state is State.ON_HOLD
