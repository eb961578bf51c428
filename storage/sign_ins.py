"""PINs as hashes, sign-ins and wrong guesses as rows."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import Any

import sqlalchemy as sa
from sqlalchemy.engine import Row

from inspect_core.domain.credentials import Credential, Method, SignIn
from storage.people_tables import credentials, guesses, sign_ins
from storage.work import Work

# Asked at every save, so built once.
_ANY = sa.select(sa.literal(1).label("one")).select_from(credentials).limit(1)
_ONE = sa.select(sign_ins).where(sign_ins.c.key == sa.bindparam("wanted"))


class SqlSignIns:
    """Fulfils SignInRepository."""

    def __init__(self, work: Work) -> None:
        self._work = work

    def any_credential(self) -> bool:
        return self._work.first(_ANY) is not None

    def credential(self, person_id: str) -> Credential | None:
        row = self._work.first(sa.select(credentials).where(credentials.c.person_id == person_id))
        return _credential(row) if row else None

    def credentials(self) -> tuple[Credential, ...]:
        rows = self._work.rows(sa.select(credentials).order_by(credentials.c.person_id))
        return tuple(_credential(row) for row in rows)

    def put_credential(self, credential: Credential) -> None:
        values = {
            "person_id": credential.person_id,
            "hash": credential.hash,
            "set_at": credential.set_at,
            "given": credential.given,
            "failures": credential.failures,
            "locked_until": credential.locked_until,
        }
        mine = credentials.c.person_id == credential.person_id
        if not self._work.change(sa.update(credentials).where(mine).values(values)):
            self._work.insert(credentials, values)

    def put_sign_in(self, sign_in: SignIn) -> None:
        values = {
            "key": sign_in.key,
            "person_id": sign_in.person_id,
            "method": sign_in.method.value,
            "started_at": sign_in.started_at,
            "seen_at": sign_in.seen_at,
            "ends_at": sign_in.ends_at,
            "idle_seconds": round(sign_in.idle.total_seconds()),
        }
        if not self._work.change(sa.update(sign_ins).where(sign_ins.c.key == sign_in.key).values(values)):
            self._work.insert(sign_ins, values)

    def sign_in(self, key: str) -> SignIn | None:
        row = self._work.first(_ONE, {"wanted": key})
        if row is None:
            return None
        return SignIn(
            key=row.key,
            person_id=row.person_id,
            method=Method(row.method),
            started_at=row.started_at,
            seen_at=row.seen_at,
            ends_at=row.ends_at,
            idle=timedelta(seconds=row.idle_seconds),
        )

    def end_sign_in(self, key: str) -> None:
        self._work.change(sa.delete(sign_ins).where(sign_ins.c.key == key))

    def end_sign_ins(self, person_id: str) -> None:
        self._work.change(sa.delete(sign_ins).where(sign_ins.c.person_id == person_id))

    def end_old_sign_ins(self, before: datetime) -> None:
        self._work.change(sa.delete(sign_ins).where(sign_ins.c.ends_at <= before))

    def add_guess(self, at: datetime) -> int:
        self._work.change(sa.delete(guesses).where(guesses.c.at < at - timedelta(hours=1)))
        return self._work.insert(guesses, {"at": at})

    def take_back_guess(self, number: int) -> None:
        self._work.change(sa.delete(guesses).where(guesses.c.number == number))

    def guesses_since(self, at: datetime) -> int:
        row = self._work.first(sa.select(sa.func.count().label("many")).where(guesses.c.at > at))
        return int(row.many) if row else 0


def _credential(row: Row[Any]) -> Credential:
    return Credential(
        person_id=row.person_id,
        hash=row.hash,
        set_at=row.set_at,
        given=row.given,
        failures=row.failures,
        locked_until=row.locked_until,
    )
