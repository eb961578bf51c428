"""The unfinished set-up check at hand: kept at every change, found again after a reload."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable
from dataclasses import dataclass
from threading import Lock
from typing import Any

from inspect_core.rigging.figures import PROFILES
from inspect_core.screens import state
from inspect_core.screens.frame import Frame
from inspect_core.screens.speaking import st
from inspect_core.usecases.setup import usual_profile

Body = dict[str, Any]
#: Unfinished checks the server remembers; the oldest go first.
MOST_KEPT = 300


class Shelf:
    """Unfinished checks of this server by their identifier, which nobody can guess. A reload finds them again; a
    restart of the server does not, for a set-up check is minutes of work and belongs to the moment."""

    def __init__(self) -> None:
        self._bodies: OrderedDict[str, Body] = OrderedDict()
        self._lock = Lock()

    def find(self, bench_id: str) -> Body | None:
        with self._lock:
            return self._bodies.get(bench_id)

    def put(self, bench_id: str, body: Body) -> None:
        with self._lock:
            self._bodies[bench_id] = body
            self._bodies.move_to_end(bench_id)
            while len(self._bodies) > MOST_KEPT:
                self._bodies.popitem(last=False)

    def drop(self, bench_id: str) -> None:
        with self._lock:
            self._bodies.pop(bench_id, None)


@st.cache_resource(show_spinner=False)
def _shelf() -> Shelf:
    return Shelf()


@dataclass(frozen=True)
class Bench:
    """One unfinished set-up check. `body` holds what JSON holds and is changed only through `keep`:

    check, profile, units ("SI" or "feet"), step; values (name in the form to what was entered); parts and joints of a
    kit; rows, csv and way of a roof; photo (drawn upon), marks, revs; photos (proof), tags, place, refused.
    """

    id: str
    frame: Frame
    body: Body

    @property
    def check(self) -> str:
        return str(self.body["check"])

    @property
    def profile(self) -> str:
        return str(self.body["profile"])

    @property
    def units(self) -> str:
        return str(self.body["units"])

    @property
    def feet(self) -> bool:
        return self.units == "feet"

    @property
    def values(self) -> dict[str, Any]:
        values: dict[str, Any] = self.body["values"]
        return values

    def key(self, *parts: str) -> str:
        """The key of a widget of this check."""
        return state.widget("setup", self.id, *parts)

    def keep(self, change: Callable[[Body], None]) -> None:
        change(self.body)
        _shelf().put(self.id, self.body)

    def kept(self, change: Callable[[Body], None]) -> Callable[[], None]:
        """`keep` as a callback."""
        return lambda: self.keep(change)

    def put(self, name: str, value: object) -> None:
        """Keep one entered value; None takes it away, for what is not known is left out."""

        def change(body: Body) -> None:
            body["values"].pop(name, None)
            if value is not None and value != "":
                body["values"][name] = value

        self.keep(change)


def _empty(check: str, profile: str, units: str) -> Body:
    return {
        "check": check,
        "profile": profile,
        "units": units,
        "step": 0,
        "values": {},
        "parts": [],
        "joints": 0,
        "way": None,
        "rows": [],
        "csv": "",
        "photo": None,
        "marks": {},
        "revs": {},
        "photos": [],
        "tags": [],
        "place": "",
        "refused": 0,
        "prefilled": [],
    }


def open_bench(frame: Frame, check: str) -> Bench:
    """The check that the address names, or a fresh one whose name goes into the address."""
    bench_id = state.query_id("draft")
    body = _shelf().find(bench_id) if bench_id else None
    if bench_id is None or body is None or body["check"] != check:
        # Never the old name again: a record may carry it, and one name stands for one check.
        bench_id, body = frame.services.new_id(), _fresh(frame, check)
        _shelf().put(bench_id, body)
        st.query_params["draft"] = bench_id
    return Bench(bench_id, frame, body)


def _fresh(frame: Frame, check: str) -> Body:
    """Profile and units as last used in this session, else the profile of most of the gear."""
    known = state.setup_habits()
    profile = known.get("profile") or usual_profile(frame.services)
    profile = profile if profile in PROFILES else "common"
    units = known.get("units") or ("feet" if profile.startswith("us ") else "SI")
    body = _empty(check, profile, units)
    body["place"] = known.get("place", "")
    return body


def leave(bench: Bench) -> None:
    """The check is recorded or thrown away."""
    _shelf().drop(bench.id)
    st.query_params.pop("draft", None)
