"""A store with a row in every table that verify looks at, and hands that change it behind the program's back."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import Any

import sqlalchemy as sa
from sqlalchemy.types import TypeDecorator

from inspect_core import bootstrap
from inspect_core.domain.custody import Move
from inspect_core.domain.decision import Answer
from inspect_core.domain.gear import Component
from inspect_core.domain.inspection import InspectionType
from inspect_core.domain.kits import KitMove
from inspect_core.domain.second_reading import CANNOT_TELL
from inspect_core.usecases.custody import MakeMove, make_move
from inspect_core.usecases.inspect import Judgement
from inspect_core.usecases.kits import ChangeKit, change_kit
from inspect_core.usecases.second_reading import RecordReading, record_second_reading
from inspect_core.usecases.services import Services
from inspect_core.usecases.setup import RecordSetup, record_setup
from inspect_core.usecases.site_settings import set_two_persons
from inspect_core.usecases.verify import Account, verify
from tests.engines import stores
from tests.usecases.site import Site

SWING = {"check": "swing", "profile": "us construction", "units": "feet", "height": 35, "offset": 18, "clear": 40}


def filled(folder: Path) -> None:
    """Some days on a small site: three lanyards, findings, a correction, moves, a kit, a set-up check, readings."""
    site = Site(folder)
    services = site.services
    first, second, third = (site.lanyard(tag) for tag in ("LAN-001", "LAN-002", "LAN-003"))
    site.clock.move(days=1)
    renamed = site.correct(first, note="strap replaced", tag="LAN-00A", lasting_facts={"absorber class": "E4"}).item
    site.correct(renamed, tag="LAN-001")
    site.record(site.cut(first, 3.0, inspection_id="cut-1", note="seen at the gate"))
    site.record(site.check(second, "check-2", answer_notes={Component.WEBBING: "dusty"}))
    site.clock.move(days=1)
    site.record(site.check(second, "check-3", corrects="check-2", note="the other one"))
    make_move(MakeMove("hold-1", third.id, Move.HOLD, site.worker, "stiff after rain"), services)
    sound = site.sound(third) | {Component.LABEL: Answer.UNSEEN}
    site.record(
        site.check(
            third,
            "periodic-1",
            type=InspectionType.PERIODIC,
            by=site.competent,
            answers=sound,
            hand=Judgement(_in_service(), "Label read in the office: all dates known."),
            photo_ids=(site.photo(2),),
        )
    )
    change_kit(ChangeKit("kit-move-1", "kit-1", KitMove.MAKE, site.manager, "Bag 1", item_ids=(second.id,)), services)
    record_setup(RecordSetup("setup-1", SWING, site.worker, "tower", ("LAN-002",), (site.photo(3),)), services)
    photo = site.photo(2)
    record_second_reading(RecordReading("second-1", photo, "periodic-1", site.second, CANNOT_TELL, "dark"), services)
    set_two_persons(False, site.manager, services)
    services.close()


def _in_service() -> Any:
    from inspect_core.domain.decision import Outcome

    return Outcome.IN_SERVICE


copy_of = stores.copy_of


def checked(folder: Path, **more: Any) -> Account:
    """What verify says of the store in that folder."""
    services: Services = bootstrap.open_services(str(folder))
    try:
        return verify(services, **more)
    finally:
        services.close()


def by_hand(folder: Path, change: Callable[[sa.Connection], object] | str) -> None:
    """Changes the database past every rule of the program; a statement has to meet a row."""
    with stores.beside(folder) as connection:
        if isinstance(change, str):
            assert connection.exec_driver_sql(change).rowcount > 0
        else:
            change(connection)


def other(column: sa.Column[Any], value: Any) -> Any:
    """Another value that the column could hold."""
    kind = column.type.impl if isinstance(column.type, TypeDecorator) else column.type
    if isinstance(kind, sa.DateTime):
        return (value or datetime(2026, 3, 2, 8, 0, tzinfo=None)) + timedelta(seconds=1)  # noqa: DTZ001 - as stored
    if isinstance(kind, sa.Date):
        return (value or date(2026, 3, 2)) + timedelta(days=1)
    if isinstance(kind, sa.Boolean):
        return not value
    if isinstance(kind, sa.Integer | sa.BigInteger):
        return (value or 0) + 1
    if isinstance(kind, sa.Float):
        return (value or 0.0) + 0.5
    if isinstance(kind, sa.JSON):
        if isinstance(value, dict):
            return {**value, "webbing": "sound", "x": 1} if value.get("webbing") != "sound" else {**value, "x": 1}
        return [*value, *(value[:1] or ["x"])] if isinstance(value, list) else [value]
    if isinstance(kind, sa.LargeBinary):
        return bytes([value[0] ^ 1, *value[1:]])
    return f"{value or ''}x"
