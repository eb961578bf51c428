"""A day on the roof without a connection: the whole camera roll dropped in at once, sorted, put right, begun."""

from __future__ import annotations

import random
from pathlib import Path
from typing import Any

import pytest

from inspect_core.usecases import drafts
from inspect_core.usecases.roll import sort_roll, unfinished_rolls
from tests.browser.conftest import OpenPage, StartApp
from tests.browser.job_hands import APP, WORKER, open_screen, press, say_who, settled, store_with
from tests.usecases.roll_photos import File, roll

pytestmark = pytest.mark.browser
TAGS = tuple(f"WL-{n:04}" for n in range(1, 13))


def drop(page: Any, files: list[File]) -> None:
    page.locator("input[type=file]").first.set_input_files(
        [{"name": one.name, "mimeType": "image/jpeg", "buffer": one.data} for one in files]
    )


def test_sixty_photos_of_twelve_items_are_sorted_and_begun(
    start_app: StartApp, phone: OpenPage, tmp_path: Path
) -> None:
    services = store_with(tmp_path / "store", *TAGS)
    files, truth = roll(TAGS, 60)
    random.Random(5).shuffle(files)
    page = phone()
    open_screen(page, start_app(APP, {"BARTACK_STORE": str(tmp_path / "store")}), "roll")
    say_who(page, WORKER)
    drop(page, files)
    page.get_by_text("60 photos read.").wait_for(timeout=90_000)
    settled(page)
    page.get_by_text("60 photos of 12 items", exact=False).wait_for()

    ((stored, many),) = unfinished_rolls(services)
    plan = sort_roll(stored.id, services)
    assert many == 60
    assert {tag: [one.photo.name for one in group] for tag, group in plan.groups.items()} == truth
    assert plan.doubtful == 0

    # One photo goes to another item by hand, and one is left out.
    moved = plan.groups[TAGS[0]][-1]
    page.get_by_text(f"Photo {moved.number}", exact=True).click()
    settled(page)
    press(page, "combobox", "1 photo chosen", exact=False)
    press(page, "option", TAGS[1])
    press(page, "button", "Move them there", exact=False)
    assert sort_roll(stored.id, services).groups[TAGS[1]][0].photo == sort_roll(stored.id, services).photos[4].photo
    out = plan.groups[TAGS[2]][-1]
    page.get_by_text(f"Photo {out.number}", exact=True).click()
    settled(page)
    press(page, "button", "Leave them out", exact=False)
    assert len(sort_roll(stored.id, services).out) == 1

    # A worker is offered the check before use only, not the inspections of a competent person.
    assert page.get_by_text("Periodic inspection").count() == 0
    press(page, "button", "Begin 12 inspections", exact=False)
    page.get_by_text("12 inspections begun.").wait_for()
    begun = {item.tag: draft.body["photos"] for draft, item in drafts.unfinished(services)}
    assert {tag: len(photos) for tag, photos in begun.items()} == dict.fromkeys(TAGS, 5) | {
        TAGS[0]: 4,
        TAGS[1]: 6,
        TAGS[2]: 4,
    }
    press(page, "link", f"Go on: {TAGS[3]}", exact=False)
    page.get_by_text("1 of 4", exact=False).wait_for()


def test_a_browser_that_closes_keeps_what_was_read_and_the_same_photos_go_on(
    start_app: StartApp, desk: OpenPage, tmp_path: Path
) -> None:
    services = store_with(tmp_path / "store", *TAGS[:2])
    files, truth = roll(TAGS[:2], 8)
    url = start_app(APP, {"BARTACK_STORE": str(tmp_path / "store")})
    first = desk()
    open_screen(first, url, "roll")
    say_who(first, WORKER)
    drop(first, files[:3])
    first.get_by_text("3 photos read.").wait_for()
    first.close()

    page = desk()
    open_screen(page, url, "roll")
    say_who(page, WORKER)
    press(page, "button", "Go on: roll of", exact=False)
    drop(page, files)
    page.get_by_text("5 photos read.").wait_for()
    page.get_by_text("3 were in this roll already.").wait_for()
    ((stored, many),) = unfinished_rolls(services)
    assert many == 8
    groups = sort_roll(stored.id, services).groups
    assert {tag: [one.photo.name for one in group] for tag, group in groups.items()} == truth
