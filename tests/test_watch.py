"""Figures, log and health say how the program fares, and nothing of what is in it."""

from __future__ import annotations

import json
import logging
import socket
import urllib.error
import urllib.request
from contextlib import suppress
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from prometheus_client import generate_latest

from inspect_core.domain.errors import BadInput, NotFound, StoreFault
from inspect_core.domain.jobs import JobFigures
from inspect_core.usecases.export import Export
from inspect_core.usecases.health import health
from inspect_core.usecases.job_asking import ask_export
from inspect_core.usecases.jobs import figures
from inspect_core.watch import JsonLines, Watch, log_json, serve
from tests.usecases.patient import Patient
from tests.usecases.site import Site


@pytest.fixture
def watch() -> Watch:
    return Watch()


@pytest.fixture
def site(tmp_path: Path, watch: Watch) -> Site:
    site = Site(tmp_path / "store")
    services = site.services
    site.services = replace(
        services, unit_of_work=watch.unit_of_work(services.unit_of_work), photos=watch.photos(services.photos)
    )
    return site


def value(watch: Watch, name: str, **labels: str) -> float:
    return watch.registry.get_sample_value(name, labels) or 0.0


def count(watch: Watch, kind: str, ended: str) -> float:
    return value(watch, "bartack_unit_seconds_count", kind=kind, ended=ended)


def test_units_are_counted_by_how_they_ended(site: Site, watch: Watch) -> None:
    site.lanyard()
    assert (count(watch, "write", "committed"), count(watch, "write", "refused")) == (1, 0)
    with pytest.raises(NotFound), site.services.unit_of_work(write=True) as uow:
        uow.items.get("nothing")
    assert (count(watch, "write", "committed"), count(watch, "write", "refused")) == (1, 1)
    with site.services.unit_of_work() as uow:
        assert uow.items.sites() == ("North Quay",)
    assert count(watch, "read", "left") >= 1
    with pytest.raises(ZeroDivisionError), site.services.unit_of_work():
        raise ZeroDivisionError
    assert count(watch, "read", "failed") == 1


def test_a_watched_unit_that_is_left_writes_nothing(site: Site) -> None:
    item = site.lanyard()
    with site.services.unit_of_work(write=True) as uow:
        uow.items.update(replace(item, note="left"))
    with site.services.unit_of_work() as uow:
        assert uow.items.get(item.id).note == item.note


def test_uses_of_the_photo_store_are_counted(site: Site, watch: Watch) -> None:
    site.photo()
    assert value(watch, "bartack_photo_seconds_count", use="put", ended="done") == 1
    with pytest.raises(NotFound):
        site.services.photos.copy("0" * 64, "thumb")
    assert value(watch, "bartack_photo_seconds_count", use="copy", ended="refused") == 1


class Broken:
    def __getattr__(self, name: str) -> Any:
        def fail(*_args: object, **_more: object) -> None:
            raise StoreFault("The disk is full, so nothing was saved.", "Free some space.")

        return fail


def test_a_failing_store_is_counted_and_health_says_so(site: Site, watch: Watch) -> None:
    assert health(site.services)["ok"] is True
    photos = watch.photos(Broken())  # type: ignore[arg-type]
    with pytest.raises(StoreFault):
        photos.put("x", b"", {})
    assert value(watch, "bartack_faults_total", where="photos", fault="StoreFault") == 1
    told = health(replace(site.services, photos=photos))
    assert told["ok"] is False
    assert told["photos"] == "The disk is full, so nothing was saved."
    assert told["database"] == "answers"


class GoOn(BaseException):
    """How a screen library leaves a page."""


@pytest.mark.parametrize(
    ("error", "ended"),
    [(None, "drawn"), (GoOn(), "left"), (NotFound("No.", "Look again."), "refused"), (KeyError("x"), "failed")],
)
def test_screens_are_timed_by_how_they_ended(watch: Watch, error: BaseException | None, ended: str) -> None:
    with suppress(BaseException), watch.screen("item"):
        if error:
            raise error
    assert value(watch, "bartack_screen_seconds_count", screen="item", ended=ended) == 1
    assert value(watch, "bartack_faults_total", where="screen item", fault="KeyError") == (ended == "failed")


def test_figures_and_health_are_served(site: Site, watch: Watch) -> None:
    site.lanyard("SECRET-7")
    broken = False
    server = serve("127.0.0.1:0", watch, lambda: {**health(site.services), "ok": not broken})
    base = f"http://127.0.0.1:{server.server_port}"
    try:
        with urllib.request.urlopen(f"{base}/metrics") as answer:  # noqa: S310 - this machine
            figures = answer.read().decode()
        assert 'bartack_unit_seconds_count{ended="committed",kind="write"} 1.0' in figures
        assert "SECRET-7" not in figures and "North Quay" not in figures
        with urllib.request.urlopen(f"{base}/health") as answer:  # noqa: S310
            told = json.load(answer)
        assert told["ok"] is True and told["entries"] >= 1
        broken = True
        for path, code in (("/health", 503), ("/else", 404)):
            with pytest.raises(urllib.error.HTTPError) as refused:
                urllib.request.urlopen(base + path)  # noqa: S310
            assert refused.value.code == code
    finally:
        server.shutdown()
        server.server_close()


def test_somebody_who_connects_and_says_nothing_keeps_nobody_waiting(watch: Watch) -> None:
    server = serve("127.0.0.1:0", watch, lambda: {"ok": True})
    try:
        with socket.create_connection(("127.0.0.1", server.server_port)) as silent:
            silent.sendall(b"GET /health HTTP/1.1\r\n")
            address = f"http://127.0.0.1:{server.server_port}/health"
            with urllib.request.urlopen(address, timeout=5) as answer:
                assert json.load(answer) == {"ok": True}
    finally:
        server.shutdown()
        server.server_close()


@pytest.mark.parametrize("address", ["", "nowhere", "127.0.0.1:x", "127.0.0.1:99999", "203.0.113.1:80"])
def test_an_address_that_cannot_be_served_is_refused(watch: Watch, address: str) -> None:
    with pytest.raises(BadInput, match="cannot be served"):
        serve(address, watch, dict)


def test_the_log_names_places_and_no_words(capsys: pytest.CaptureFixture[str]) -> None:
    log_json()
    try:
        try:
            Site.lanyard(None, "SECRET-8")  # type: ignore[arg-type]
        except AttributeError:
            logging.getLogger("inspect_core.screens.parts.errors").exception("a screen failed")
        line = json.loads(capsys.readouterr().err.splitlines()[-1])
    finally:
        for name in ("bartack", "inspect_core"):
            logging.getLogger(name).handlers.clear()
            logging.getLogger(name).propagate = True
    assert line["event"] == "a screen failed" and line["fault"] == "AttributeError"
    assert any(place.startswith("tests/usecases/site.py:") for place in line["places"])
    assert "SECRET-8" not in json.dumps(line)


def test_a_line_with_arguments_keeps_them_to_itself() -> None:
    record = logging.LogRecord("bartack", logging.INFO, "", 0, "item %s", ("SECRET-9",), None)
    assert json.loads(JsonLines().format(record))["event"] == "item %s"


def test_the_queue_of_jobs_is_counted_whenever_somebody_asks(site: Site, watch: Watch) -> None:
    runner = Patient()
    services = replace(site.services, jobs=runner)
    watch.jobs(lambda: figures(services))
    ask_export(Export(), site.manager, services)
    site.clock.move(seconds=30)
    assert value(watch, "bartack_jobs", state="waiting") == 1
    assert value(watch, "bartack_jobs_oldest_seconds") == 30
    assert watch.registry.get_sample_value("bartack_workers") is None  # this program does its jobs itself
    runner.work()
    assert value(watch, "bartack_jobs", state="waiting") == value(watch, "bartack_jobs", state="failed") == 0
    assert value(watch, "bartack_jobs_oldest_seconds") == 0


def test_figures_are_given_without_the_queue_s_where_the_store_does_not_answer(watch: Watch) -> None:
    def gone() -> JobFigures:
        raise StoreFault("The database server does not answer.", "Wait a moment.")

    watch.jobs(gone)
    assert b"bartack_jobs" not in generate_latest(watch.registry)
    assert value(watch, "bartack_faults_total", where="jobs", fault="StoreFault") >= 1


def test_health_counts_the_jobs(site: Site) -> None:
    told = health(site.services)
    assert told["ok"] and told["jobs"] == "0 wait, 0 run, 0 failed lately"
