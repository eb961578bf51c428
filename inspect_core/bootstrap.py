"""Wires the program once: storage, rules, clock and demo pictures behind the protocols."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import datetime
from pathlib import Path
from typing import Any

import platformdirs

from inspect_core.domain.gear import Component, Kind
from inspect_core.domain.marks import Category
from inspect_core.rules.loader import load_rules
from inspect_core.usecases.account import seal
from inspect_core.usecases.services import Services

__all__ = ["default_store", "load_rules", "open_services"]

#: The demo draws some two hundred pictures while somebody waits: smaller ones take less time.
_DEMO_SIZE = 0.75


class SystemClock:
    """The clock of this machine, with its zone."""

    def now(self) -> datetime:
        return datetime.now().astimezone()


def default_store() -> Path:
    """Where records live unless somebody says otherwise: a folder in the user's own data directory."""
    return Path(platformdirs.user_data_dir("bartack", appauthor=False))


def open_services(store: str | None = None) -> Services:
    """Everything a screen or a command needs, over the store at `store` (a folder; default: the user's own).

    Makes the folder and brings its tables up to date. Raises StoreFault where it cannot, BadRules where the packaged
    rules are damaged.
    """
    # Loaded only where a store is opened: deciding or measuring a file needs no database library.
    from storage.engine import open_engine
    from storage.hashed_secrets import Argon2Secrets
    from storage.migrations import upgrade
    from storage.photos_on_disk import PhotosOnDisk
    from storage.scrub import scrub
    from storage.signing_key import KEY_NAME, KeyFile
    from storage.unit_of_work import unit_of_work_factory

    folder = Path(store).expanduser() if store else default_store()
    engine = open_engine(folder)
    upgrade(engine)
    photos = PhotosOnDisk(folder / "photos")
    photos.clear_leftovers()
    signer = KeyFile(folder / KEY_NAME)
    return Services(
        unit_of_work=unit_of_work_factory(engine, lambda unit: seal(unit, signer)),
        photos=photos,
        clock=SystemClock(),
        rules=load_rules(),
        place=str(folder),
        draw=draw_demo_picture,
        hasher=Argon2Secrets(),
        scrub=lambda: scrub(engine),
        signer=signer,
        close=engine.dispose,
    )


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
