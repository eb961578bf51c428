"""Wires the program once: storage, rules, clock and demo pictures behind the protocols."""

from __future__ import annotations

import atexit
import logging
import os
from collections.abc import Mapping
from dataclasses import replace
from datetime import datetime
from pathlib import Path
from typing import Any

import platformdirs

from inspect_core.domain.errors import BadInput, StoreFault
from inspect_core.domain.gear import Component, Kind
from inspect_core.domain.marks import Category
from inspect_core.ports import PhotoStore, UnitOfWork
from inspect_core.ports_jobs import JobRunner
from inspect_core.rules.loader import load_rules
from inspect_core.usecases.account import seal
from inspect_core.usecases.due_calendar import CalendarKeeper
from inspect_core.usecases.due_watch import tell_of_due
from inspect_core.usecases.job_threads import JobThread
from inspect_core.usecases.job_work import do_job
from inspect_core.usecases.jobs import take_up
from inspect_core.usecases.labels import label_reader
from inspect_core.usecases.mail import mailer_for
from inspect_core.usecases.new_store import refuse_closed, refuse_unfinished
from inspect_core.usecases.services import Services

__all__ = ["default_store", "load_rules", "open_services", "work"]

#: What a person may set for a store, beside its records.
SETTINGS_FILE = "settings.toml"
#: The demo draws some two hundred pictures while somebody waits: smaller ones take less time.
_DEMO_SIZE = 0.75


class SystemClock:
    """The clock of this machine, with its zone."""

    def now(self) -> datetime:
        return datetime.now().astimezone()


def default_store() -> Path:
    """Where records live unless somebody says otherwise: a folder in the user's own data directory."""
    return Path(platformdirs.user_data_dir("bartack", appauthor=False))


def open_services(store: str | None = None, *, closed: bool = False) -> Services:
    """Everything a screen or a command needs, over the store at `store` (a folder, or the address of a server as
    `storage.address` describes; default: the user's own folder).

    Makes the folder and brings its tables up to date. Raises StoreFault where it cannot or where a move into the store
    was not finished, BadRules where the packaged rules are damaged. `closed`: only for what fills, closes or reopens
    stores; it opens an unfinished one too, and writes where a store was given up.
    """
    # Loaded only where a store is opened: deciding or measuring a file needs no database library.
    from storage.address import read_address
    from storage.engine import open_engine
    from storage.hashed_secrets import Argon2Secrets
    from storage.job_files import JobFilesOnDisk
    from storage.jobs import Queue
    from storage.migrations import upgrade
    from storage.photos_on_disk import PhotosOnDisk
    from storage.scrub import scrub
    from storage.signing_key import KEY_NAME, KeyFile
    from storage.unit_of_work import unit_of_work_factory

    address = read_address(store or str(default_store()), default_store())
    folder = address.folder
    engine = open_engine(address.database)
    upgrade(engine)
    photos: PhotoStore
    if address.photos:
        from storage.photos_in_bucket import open_bucket

        photos = open_bucket(address.photos)
    else:
        photos = on_disk = PhotosOnDisk(folder / "photos")
        on_disk.clear_leftovers()
    key_elsewhere = os.environ.get("BARTACK_SIGNING_KEY")
    signer = KeyFile(Path(key_elsewhere or folder / KEY_NAME))
    clock = SystemClock()

    def before_commit(unit: UnitOfWork) -> None:
        if not closed:
            refuse_closed(unit)
        seal(unit, signer)

    queue: Queue | None = None
    runner: JobRunner = JobThread()
    if address.on_server:
        from storage.job_queue import JobQueue, QueueRunner

        queue, runner = JobQueue(address.database), QueueRunner()
        queue.prepare(engine)
    units = unit_of_work_factory(engine, before_commit, queue)
    rules = load_rules()
    keeper = CalendarKeeper(units, clock, rules)
    atexit.register(keeper.flush)

    def close() -> None:
        keeper.flush()
        atexit.unregister(keeper.flush)
        runner.close()
        engine.dispose()

    opened = Services(
        unit_of_work=tell_of_due(units, keeper.changed),
        photos=photos,
        clock=clock,
        rules=rules,
        place=address.told,
        draw=draw_demo_picture,
        hasher=Argon2Secrets(),
        scrub=lambda: scrub(engine),
        signer=signer,
        close=close,
        label_reader=label_reader(),
        mailer=mailer_for(_text_of(folder / SETTINGS_FILE), os.environ),
        own_files={
            **({} if key_elsewhere else {"signing key": folder / KEY_NAME}),
            "settings": folder / SETTINGS_FILE,
        },
        jobs=runner,
        job_files=JobFilesOnDisk(folder / "jobs"),
    )
    if not closed:
        try:
            refuse_unfinished(opened)
        except BaseException:
            close()
            raise
    return opened


def work(store: str | None, *, wait: bool = True, figures: str | None = None) -> None:
    """Take jobs from the queue of the store on a server and do them, until a signal ends the program; with `wait` False
    until none is left. `figures`: HOST:PORT for those of this process. Raises BadInput where the store has no queue,
    StoreFault where the server is gone."""
    from storage.address import read_address
    from storage.job_queue import JobQueue

    address = read_address(store or str(default_store()), default_store())
    if not address.on_server:
        raise BadInput(
            "A store in a folder has no queue: the program that shows its screens does its jobs.",
            "Start a worker for a store on a server only.",
        )
    log_without_words()
    services = open_services(store)
    if figures:
        services = watched(services, figures)
    try:
        JobQueue(address.database).work(
            lambda job_id, closing: do_job(job_id, services, closing=closing), lambda: take_up(services), wait=wait
        )
    finally:
        services.close()


def shown_address(store: str) -> str:
    """A store's address as people may see it: without account or password. Raises BadInput."""
    from storage.address import read_address

    return read_address(store, default_store()).told


def log_without_words() -> None:
    """What a server tells its log: warnings and faults as one JSON object a line, with places in our own files and
    without the words of an error, which may quote what somebody typed or forge a line of their own."""
    from inspect_core.watch import log_json

    log_json(logging.WARNING)


def watched(services: Services, address: str) -> Services:
    """The same services, their transactions, photos and screens timed, with figures and health served at HOST:PORT.
    Raises BadInput where that address cannot be served."""
    from inspect_core.usecases.health import health
    from inspect_core.usecases.jobs import figures
    from inspect_core.watch import Watch, log_json, serve

    watch = Watch()
    watch.jobs(lambda: figures(services))
    log_json()
    seen = replace(
        services,
        unit_of_work=watch.unit_of_work(services.unit_of_work),
        photos=watch.photos(services.photos),
        timed=watch.screen,
    )
    serve(address, watch, lambda: health(services))
    return seen


def _text_of(path: Path) -> str | None:
    try:
        return path.read_text(encoding="utf-8")
    except FileNotFoundError:
        return None
    except (OSError, UnicodeDecodeError):
        raise StoreFault(f"The settings file {path} cannot be read.", "Save it as UTF-8, readable for us.") from None


def draw_demo_picture(
    kind: str, component: str, category: str | None, *, seed: int, captured_at: datetime
) -> tuple[bytes, Mapping[str, Any]]:
    """One drawn picture for the demo site; the drawing program is loaded only when it is wanted."""
    import numpy as np

    from sample_images import demo_spec, render

    harm = Category(category) if category else None
    spec = demo_spec(Kind(kind), Component(component), harm, np.random.default_rng(seed))
    camera = replace(
        spec.camera,
        width=int(spec.camera.width * _DEMO_SIZE),
        height=int(spec.camera.height * _DEMO_SIZE),
        px_per_mm=spec.camera.px_per_mm * _DEMO_SIZE,
    )
    picture = render(replace(spec, camera=camera), seed)
    return picture.to_jpeg(exif={"taken": captured_at}), picture.truth
